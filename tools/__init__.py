"""Tools for working on the repository; no part of the installed package."""
