"""Startworthy: will a standby generating set start, carry its load and keep running? Read from its log.

The functions of `startworthy.api` are importable from here; they are loaded on first use, so that
`import startworthy` (and `startworthy --help`) costs nothing.
"""

from __future__ import annotations

import importlib
from typing import Any

__version__ = "0.1.0"

__all__ = ["__version__", "check", "logbook", "read", "report"]

_PUBLIC = ("check", "logbook", "read", "report")


def __getattr__(name: str) -> Any:
    if name in _PUBLIC:
        return getattr(importlib.import_module("startworthy.api"), name)
    raise AttributeError(f"module 'startworthy' has no attribute {name!r}")
