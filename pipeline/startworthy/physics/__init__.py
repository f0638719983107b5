"""Sourced tables and laws of the trade: what a value should be, apart from any log."""
