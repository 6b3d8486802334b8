"""vanplumb: the sums, drawings and lists of a camper van's fresh-water system.

    import vanplumb as vp
    build = vp.load("dipper.toml")
    pack = vp.Pack(build)
    pack.write("out")

Everything is loaded when it is first asked for.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"

_FACE = {
    "load": "van",
    "loads": "van",
    "save": "van",
    "change": "van",
    "Build": "van",
    "BuildError": "van",
    "Pack": "pack",
    "example": "pack",
    "examples": "pack",
    "packs": "pack",
    "Q": "words.units",
    "show": "words.show",
    "table": "words.tables",
    "word": "words.glossary",
}

if TYPE_CHECKING:
    from .pack import Pack as Pack
    from .pack import example as example
    from .pack import examples as examples
    from .pack import packs as packs
    from .van import Build as Build
    from .van import BuildError as BuildError
    from .van import change as change
    from .van import load as load
    from .van import loads as loads
    from .van import save as save
    from .words.glossary import word as word
    from .words.show import show as show
    from .words.tables import table as table
    from .words.units import Q as Q

__all__ = ["__version__", *sorted(_FACE)]


def __getattr__(name: str) -> Any:
    if name in _FACE:
        return getattr(import_module(f".{_FACE[name]}", __name__), name)
    if not name.startswith("_"):
        try:
            return import_module(f".{name}", __name__)
        except ModuleNotFoundError as error:
            if error.name != f"{__name__}.{name}":
                raise
    raise AttributeError(f"vanplumb has no {name!r}")


def __dir__() -> list[str]:
    return sorted(__all__)
