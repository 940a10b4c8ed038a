"""modboard: small two-layer boards that fit inside old machines.

``from modboard import Cavity, Design, Rules, pm`` is all a design file needs.  The names are resolved on first use, so
that ``modboard --help`` need not load the geometry libraries.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from modboard.describe.cavity import Cavity as Cavity
    from modboard.describe.design import Design as Design
    from modboard.describe.measures import pm as pm
    from modboard.describe.rules import Rules as Rules
    from modboard.errors import ModboardError as ModboardError
    from modboard.sockets.build import adapter as adapter

__version__ = "0.1.0"
__all__ = ["Cavity", "Design", "ModboardError", "Rules", "__version__", "adapter", "pm"]

_HOMES = {
    "adapter": "modboard.sockets.build",
    "Cavity": "modboard.describe.cavity",
    "Design": "modboard.describe.design",
    "pm": "modboard.describe.measures",
    "Rules": "modboard.describe.rules",
    "ModboardError": "modboard.errors",
}


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module 'modboard' has no attribute {name!r}")
    return getattr(import_module(_HOMES[name]), name)
