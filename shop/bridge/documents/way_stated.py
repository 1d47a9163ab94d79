"""What was stated of a target pack beside its cells and strip, as pages and papers tell it."""

from packs.documents import WayStated
from packs.terms import Compression
from shop.bridge import conductors
from shop.models import Plan


def way_stated(plan: Plan) -> WayStated:
    """Return peak, leads and fuse of a plan as they were stated, and how its cells are held."""
    return WayStated(
        peak_current_ma=plan.peak_current_ma,
        peak_time_ms=plan.peak_time_ms,
        lead=(plan.lead_area_um2 and conductors.gauge_word(plan.lead_area_um2)) or "",
        lead_area_um2=plan.lead_area_um2,
        lead_length_um=plan.lead_length_um,
        fuse_current_ma=plan.fuse_current_ma,
        fuse_voltage_mv=plan.fuse_voltage_mv,
        fuse_breaking_ma=plan.fuse_breaking_ma,
        held=_held(plan),
    )


def _held(plan: Plan) -> str:
    model = plan.cell_model
    if model.compression in ("", Compression.NONE, Compression.UNKNOWN):
        return ""
    words = Compression(model.compression).label
    return f"{words}: {model.compression_note}" if model.compression_note else words
