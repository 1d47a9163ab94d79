"""Packs on which a fault was looked for, reading by reading. Common practice, no source; the values are invented."""

from collections.abc import Mapping
from decimal import Decimal

from packs.terms import BoardSwitch, Chemistry, Circumstance
from shop import models
from shop.operations import fault_finding
from tests import line


def state(job: models.Job, **known: int | None) -> None:
    """State a pack of the line, whose board switches the positive conductor."""
    pack = fault_finding.KnownPack(
        series=line.SERIES, chemistry=Chemistry.NMC, switch=BoardSwitch.HIGH_SIDE, wake_voltage_mv=12_400, **known
    )
    fault_finding.state_pack(job=job, pack=pack, by=line.technician())


def read(job: models.Job, circumstance: Circumstance, shown_mv: Mapping[str, int]) -> None:
    """Write down what was read between pairs of points, such as "outlet_negative~outlet_positive"."""
    pairs = {tuple(pair.split("~")): mv for pair, mv in shown_mv.items()}
    probes = [fault_finding.Probe(low=low, high=high, value_mv=Decimal(mv)) for (low, high), mv in pairs.items()]
    fault_finding.record_probes(job=job, circumstance=circumstance, probes=probes, by=line.technician())


def groups(*shown_mv: int) -> dict[str, int]:
    """Return readings across each group."""
    return {f"group_{n}_negative~group_{n}_positive": mv for n, mv in enumerate(shown_mv, start=1)}


def board_off(job: models.Job, temperature_mdegc: int | None) -> None:
    """A stack near empty, sound cells, and nothing behind the board."""
    state(job, temperature_mdegc=temperature_mdegc)
    dead = {"board_output_negative~board_output_positive": 0}
    read(job, Circumstance.REST, groups(2800, 2800, 2800, 2800) | dead)
    read(job, Circumstance.LOAD, {"board_input_negative~board_input_positive": 10_900})


def weak_group(job: models.Job) -> None:
    """Group 3 sags under a load that the others carry."""
    state(job, load_ma=5000, group_resistance_uohm=20_000)
    read(job, Circumstance.REST, groups(3700, 3700, 3700, 3700))
    read(job, Circumstance.LOAD, groups(3580, 3580, 2900, 3580))
