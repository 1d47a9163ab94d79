"""What the machine must bring for the shop to do all it can."""

import ctypes
import ctypes.util
from typing import Any

from django.core import checks

PANGO = ("pango-1.0", "pangoft2-1.0")
HOW = "Debian: apt install libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0. macOS: brew install pango."


def missing_pango() -> str:
    """Return what keeps documents from becoming PDFs, or an empty text."""
    missing = [name for name in PANGO if not _loads(name)]
    return f"No PDFs can be made: {' and '.join(missing)} can't be loaded." if missing else ""


def _loads(name: str) -> bool:
    return _opens(f"lib{name}.so.0") or _opens(ctypes.util.find_library(name) or name)


def _opens(file: str) -> bool:
    try:
        ctypes.CDLL(file)
    except OSError:
        return False
    return True


@checks.register("shop")
def pango_is_there(**_options: Any) -> list[checks.CheckMessage]:
    """Warn where documents can be shown but not made into PDFs."""
    problem = missing_pango()
    return [checks.Warning(problem, hint=HOW, id="shop.W001")] if problem else []
