"""Figures that are not given, each with a stable code and the reason."""

from dataclasses import dataclass

from packs.terms import Term


class Reason(Term):
    """Why a figure is withheld; the value is the code, which never changes."""

    ROWS_DOUBTED = "rows_doubted", "what was found in its rows withholds it"
    NOT_FROM_FULL = "not_from_full", "the discharge does not begin with a full cell"
    NOT_TO_CUT_OFF = "not_to_cut_off", "the discharge ends before the end of discharge"
    CURRENT_NOT_STEADY = "current_not_steady", "the current is not constant up to the read-out"
    PULSE_SHORT = "pulse_short", "the pulse is shorter than the read-out; nothing is extrapolated"
    ROWS_APART = "rows_apart", "the rows are too far apart to read the voltage at that moment"
    START_UNKNOWN = "start_unknown", "the start of the pulse is not recorded closely enough"
    WRONG_WAY = "wrong_way", "the voltage does not answer the current"
    SECOND_NOT_LARGER = "second_not_larger", "the second current is not larger than the first"
    VOLTAGE_NOT_LOWER = "voltage_not_lower", "the voltage under the second current is not lower"
    REST_SHORT = "rest_short", "the rest is too short: relaxation hides self-discharge"
    STILL_RELAXING = "still_relaxing", "the voltage is still relaxing: its slope keeps falling"
    VOLTAGE_RISES = "voltage_rises", "the voltage rises: relaxation or temperature hides self-discharge"


@dataclass(frozen=True)
class Withheld:
    """A figure that is not given.

    Attributes
    ----------
    figure : str
        What it would have been, such as ``DC resistance at 10 s``.
    step : int
        Number of the step it would have come from.
    """

    reason: Reason
    figure: str
    step: int
    detail: str = ""

    @property
    def code(self) -> str:
        """The stable code."""
        return self.reason.value

    @property
    def message(self) -> str:
        """Say in one sentence what is not given and why."""
        text = f"{self.figure}, step {self.step}: {self.reason.label}"
        return f"{text} ({self.detail})." if self.detail else f"{text}."
