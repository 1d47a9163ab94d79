"""Readings of a tested cell to a grade with its reasons, by a versioned set of criteria."""

from packs.grading.criteria import DEFAULT, Band, Criteria
from packs.grading.drop import Hold, loss_by_slope, loss_in_a_month, lot_median
from packs.grading.facts import CellFacts, CheckCell, Measured
from packs.grading.grade import Grading, Reason, grade, health
from packs.grading.low import low_voltage

__all__ = [
    "DEFAULT",
    "Band",
    "CellFacts",
    "CheckCell",
    "Criteria",
    "Grading",
    "Hold",
    "Measured",
    "Reason",
    "grade",
    "health",
    "loss_by_slope",
    "loss_in_a_month",
    "lot_median",
    "low_voltage",
]
