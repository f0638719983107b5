"""Startworthy: will a standby generating set start, carry its load and keep running? Read from its log.

`read`, `logbook`, `check` and `report` are the functions of `startworthy.api`; they are loaded on first use, so that
`import startworthy` (and `startworthy --help`) costs nothing.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from startworthy.api import check, logbook, read, report

__version__ = "0.1.0"

__all__ = ["__version__", "check", "logbook", "read", "report"]


def __getattr__(name: str) -> Any:
    if name in __all__:
        return importlib.import_module(f"startworthy.{name}")
    raise AttributeError(f"module 'startworthy' has no attribute {name!r}")
