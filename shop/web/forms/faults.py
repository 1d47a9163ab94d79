"""Forms of fault finding: the pack as the meter meets it, one set-up of readings, a reading taken back."""

import dataclasses
from collections.abc import Iterator
from typing import Any, NamedTuple

from django import forms

from packs.terms import BoardSwitch, Chemistry, GroupsReadAs
from shop.bridge.faultfinding import SEARCHED, Pair, SetUp
from shop.bridge.possible import MOST_FAULT_GROUPS, PROBED
from shop.operations.fault_finding import KnownPack, Probe

from .base import ShopForm, TermField
from .possible import PossibleField
from .readings import ReadingsForm, due

STATED = tuple(field.name for field in dataclasses.fields(KnownPack))


class FaultPackForm(ShopForm):
    """What is known of the pack before it is measured."""

    asks_back = True
    series = forms.IntegerField(label="Groups in series", min_value=1, max_value=MOST_FAULT_GROUPS)
    chemistry = TermField(Chemistry, only=[one for one in Chemistry if one is not Chemistry.UNKNOWN], label="Chemistry")
    tap_plug = forms.BooleanField(required=False, label="The groups come out on a plug, so that all are read in one go")
    examined_as = TermField(
        GroupsReadAs,
        initial=GroupsReadAs.UNUSED.value,
        label="Where the groups were read at the examination",
        help_text="so that those voltages count here too",
    )
    wake_voltage_mv = PossibleField.stated(
        "wake_voltage_mv", required=False, label="Wake voltage of the board", help_text="below it the board stays off"
    )
    switch = TermField(BoardSwitch, initial=BoardSwitch.UNKNOWN.value, label="Where the board switches")
    load_ma = PossibleField.stated(
        "load_ma",
        required=False,
        label="Load you will draw",
        help_text="the same for every reading under load; without it and without known cells no load is proposed",
    )
    temperature_mdegc = PossibleField(
        SEARCHED["temperature_mdegc"],
        whole=True,
        required=False,
        label="Temperature of the cells",
        help_text="without it no measurement on the charger is proposed",
    )
    outlet_voltage_mv = PossibleField.stated(
        "outlet_voltage_mv", required=False, label="Regulated outlet", help_text="empty where it carries the stack"
    )
    sensor_ohm = PossibleField(
        SEARCHED["sensor_ohm"], required=False, label="Sensor at this temperature", help_text="such as 10 kΩ"
    )
    group_resistance_uohm = PossibleField.stated(
        "group_resistance_uohm", required=False, label="DC resistance of a sound group"
    )

    def pack(self) -> KnownPack:
        """Return what was typed."""
        return KnownPack(**self.values(*STATED))


class Line(NamedTuple):
    """The fields of one pair of points."""

    words: str
    value: forms.BoundField
    unsteady: forms.BoundField


class ProbesForm(ReadingsForm):
    """The readings of one set-up: a value, or that it did not settle, for each pair."""

    set_up = forms.CharField(widget=forms.HiddenInput())

    def __init__(self, *args: Any, chosen: SetUp, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["measured_at"]  # what is looked for next hangs on what was read just now
        self.chosen = chosen
        self.initial["set_up"] = chosen.sign
        for number, pair in enumerate(chosen.pairs):
            field = PossibleField(PROBED["value_ohm" if pair.ohms else "value_mv"], required=False, label=pair.words)
            field.numbers = self.numbers
            self.fields[f"value_{number}"] = due(field)
            said = "no connection" if pair.ohms else "unsteady"
            self.fields[f"unsteady_{number}"] = forms.BooleanField(required=False, label=said)

    def lines(self) -> Iterator[Line]:
        """Yield the fields pair by pair."""
        for number, pair in enumerate(self.chosen.pairs):
            yield Line(pair.words, self[f"value_{number}"], self[f"unsteady_{number}"])

    def probes(self) -> list[Probe]:
        """Return what was read; a pair with nothing in it was not."""
        return [probe for number, pair in enumerate(self.chosen.pairs) if (probe := self._probe(number, pair))]

    def name_of(self, field: str) -> str:
        """Return the field in which a pair was typed."""
        keys = [pair.key for pair in self.chosen.pairs]
        return f"value_{keys.index(field)}" if field in keys else field

    def _probe(self, number: int, pair: Pair) -> Probe | None:
        value, unsteady = self.cleaned_data[f"value_{number}"], self.cleaned_data[f"unsteady_{number}"]
        if value is None and not unsteady:
            return None
        column = "value_ohm" if pair.ohms else "value_mv"
        return Probe(low=pair.low, high=pair.high, unsteady=unsteady, **{column: value})


class AnewForm(ShopForm):
    """What was repaired, so that readings from before it say nothing any more."""

    repaired = forms.CharField(
        label="What was repaired or changed", max_length=200, help_text="such as: joint between groups 2 and 3 remade"
    )


class TakeBackForm(ShopForm):
    """Why a reading does not stand."""

    reason = forms.CharField(
        label="Why it is taken back", max_length=200, help_text="such as: probes on the wrong group"
    )
