"""Thin, tested wrappers over scipy: each returns a frozen record of estimate, interval, count and method."""
