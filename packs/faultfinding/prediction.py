"""What each candidate predicts for a reading: a steady value, a dead value, or one that does not settle."""

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from packs.faultfinding.candidates import DROP, DROP_OF, LEVEL, REST_OF, Candidates, Flags, Floats, Numbers
from packs.faultfinding.circuit import Sum, bounds, span_sum
from packs.faultfinding.model import Figures, PackModel, Switch
from packs.faultfinding.readings import Circumstance, Place, Point

Pair: TypeAlias = tuple[Point, Point]

# Board states that let current pass, by circumstance; whatever the state, a failed board never does.
PASSES = {
    Circumstance.REST: ("",),
    Circumstance.OUTLET_LOAD: ("",),
    Circumstance.WOKEN: ("", "tripped"),
    Circumstance.CHARGED: ("", "tripped", "latched_off"),
}
SENSOR_SOUND, SENSOR_OFF, SENSOR_OPEN = 0.12, 0.08, 1e6  # by share of the value, by share, in ohm
DEAD = -0.2


@dataclass(frozen=True)
class Prediction:
    """What may be read, row by row; at the sensor in ohms, else in volts.

    Attributes
    ----------
    value, other : array of shape (2, rows)
        Least and largest of the steady value, and of another one: what is left of a dead or open circuit [V].
    may_value, may_other, may_unsteady : array of rows
        Which of them can be.
    """

    value: Floats
    other: Floats
    may_value: Flags
    may_other: Flags
    may_unsteady: Flags

    def allows(self, low: float | Floats, high: float | Floats) -> Flags:
        """Rows in which the truth can lie between two values [V]."""
        steady = self.may_value & (self.value[0] <= high) & (self.value[1] >= low)
        return steady | (self.may_other & (self.other[0] <= high) & (self.other[1] >= low))

    def only(self, rows: Numbers) -> "Prediction":
        """The chosen rows."""
        return Prediction(
            self.value[:, rows],
            self.other[:, rows],
            self.may_value[rows],
            self.may_other[rows],
            self.may_unsteady[rows],
        )


def proves_nothing(model: PackModel, pair: Pair, circumstance: Circumstance) -> bool:
    """Whether a reading says nothing: after a board that switches the negative conductor, without load [V].

    References
    ----------
    Common practice, no source.
    """
    if pair[0].place is Place.SENSOR:
        return model.sensor_value is None
    beyond = pair[0].place in (Place.BOARD_OUTPUT, Place.OUTLET)
    return beyond and model.switch is Switch.LOW_SIDE and circumstance in (Circumstance.REST, Circumstance.NEXT_DAY)


def predict(model: PackModel, rows: Candidates, pair: Pair, circumstance: Circumstance) -> Prediction:
    """Return what every candidate allows for a reading between two points [V], at the sensor [Ω].

    References
    ----------
    Kirchhoff's voltage law; what boards, outlets and sensors do: common practice, no source.
    """
    if pair[0].place is Place.SENSOR:
        return _sensor(rows, model.figures.sensor_ohm or 0.0)
    low, high = pair[0].node(model.series), pair[1].node(model.series)
    if low is not None and high is not None:
        return across_stack(rows, span_sum(rows, model.figures, (low, high), circumstance), model.figures)
    return _beyond(model, rows, pair[0].place, circumstance)


def _ends(rows: Candidates, low: float, high: float) -> Floats:
    return np.repeat([[low], [high]], len(rows), axis=1)


def _sensor(rows: Candidates, ohm: float) -> Prediction:
    wrong, broken = rows.sensor == "off_value", rows.sensor == "open"
    value = np.where(wrong, [[0.0], [ohm * (1 - SENSOR_OFF)]], [[ohm * (1 - SENSOR_SOUND)], [ohm * (1 + SENSOR_SOUND)]])
    other = np.where(broken, [[SENSOR_OPEN], [np.inf]], [[ohm * (1 + SENSOR_OFF)], [np.inf]])
    return Prediction(value, other, ~broken, wrong | broken, broken)


def across_stack(rows: Candidates, found: Sum, figures: Figures) -> Prediction:
    """Return what every candidate allows for a reading across part of the stack [V], from its sum over the parts.

    References
    ----------
    Kirchhoff's voltage law.
    """
    floating = _ends(rows, DEAD, figures.floating)
    return Prediction(bounds(found, rows.box), floating, ~found.floats, found.floats, found.doubtful)


def _beyond(model: PackModel, rows: Candidates, place: Place, circumstance: Circumstance) -> Prediction:
    closed = ~rows.broken.any(axis=0)
    fed = closed & np.isin(rows.board, PASSES[circumstance])
    regulated = place is Place.OUTLET and model.outlet_voltage is not None
    if place is Place.OUTLET:
        fed &= ~rows.outlet_failed
    stack = _stack_end(model, rows, circumstance)
    value = stack if not regulated else _regulated(model.figures, rows)
    dead = ~fed | _may_switch_off(model.figures, rows, circumstance)
    if regulated:
        dead |= stack[0] < value[1]
    other = _ends(rows, DEAD, model.figures.floating)
    if circumstance is Circumstance.REST:
        other[1] = np.maximum(other[1], 0.3 * stack[0])
    return Prediction(value, other, fed, dead, dead | rows.doubtful.any(axis=0))


def _stack_end(model: PackModel, rows: Candidates, circumstance: Circumstance) -> Floats:
    """Voltage of the stack behind board and outlet; the charger lifts it by what nobody knows beforehand."""
    figures = model.figures
    if circumstance is Circumstance.CHARGED:
        return _ends(rows, figures.floating, model.series * figures.level[1])
    loaded = Circumstance.REST if circumstance is Circumstance.REST else Circumstance.OUTLET_LOAD
    found = bounds(span_sum(rows, figures, (0, 2 * model.series + 1), loaded), rows.box)
    lifted = 0.1 * model.series if circumstance is Circumstance.WOKEN else 0.0
    return np.stack([found[0] - figures.path_drop, found[1] + lifted])


def _regulated(figures: Figures, rows: Candidates) -> Floats:
    volts = figures.outlet or 0.0
    return _ends(rows, 0.9 * volts, 1.1 * volts)


def _may_switch_off(figures: Figures, rows: Candidates, circumstance: Circumstance) -> Flags:
    """A sound board switches off where a faulty or worn group is, or sags, below its cut-off, or a joint starves it."""
    loaded = circumstance is not Circumstance.REST
    sag = (1.0 + figures.drop_spread) * rows.box[1, DROP]
    off = rows.worn & loaded & (rows.box[0, LEVEL] - figures.spread - sag <= figures.cut_off)
    for side in (0, 1):
        drop = rows.box[1, DROP_OF[side]] * loaded
        least = rows.box[0, REST_OF[side]]
        beside = rows.weak[side] | rows.high[side]
        beside |= rows.leaking[side] & (least > rows.box[1, LEVEL] - figures.least_off)
        low = rows.group[side] & (loaded | ~beside) & (least - drop <= figures.cut_off)
        off |= low | (rows.doubtful[side] & loaded)
    return off
