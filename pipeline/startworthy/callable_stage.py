"""`startworthy.check` is both the package of the checks and the function that a caller wants: this makes it both.

Importing a submodule binds its name on the package, whatever stood there before. So the four stage packages that
share their name with a function of `startworthy.api` are made callable, instead of hoping for an import order.
"""

from __future__ import annotations

import importlib
import sys
from types import ModuleType
from typing import Any


class CallableStage(ModuleType):
    """A stage's package; calling it calls the function of the same name in `startworthy.api`."""

    def __call__(self, *args: Any, **kwargs: Any) -> Any:
        """Call the function of this name in `startworthy.api`."""
        name = self.__name__.rsplit(".", 1)[-1]
        return getattr(importlib.import_module("startworthy.api"), name)(*args, **kwargs)


def make_callable(module: str) -> None:
    """Let the module of that name be called. To be said in the package itself, as it is imported."""
    sys.modules[module].__class__ = CallableStage
