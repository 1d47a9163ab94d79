"""What a welder's leads do: worked by hand; the lead of AWG 4 is common practice, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from packs.conductors import awg_area, wire
from packs.errors import ImpossibleValue
from packs.units import Quantity, ureg
from packs.welding import NOT_A_SETTING, PulseCircuit, check_lead, pulse, pulse_current, smallest_lead_area


def q(number: float, unit: str) -> Quantity:
    return ureg.Quantity(number, unit)


def circuit(volts: float, source: float, leads: float, contacts: float) -> PulseCircuit:
    return PulseCircuit(q(volts, "V"), q(source, "mohm"), q(leads, "mohm"), q(contacts, "mohm"))


LEAD = wire(awg_area(4), q(4, "ft"))


def test_pulse_by_ohms_and_joules_laws() -> None:
    """12 V over 4 + 2 + 2 mΩ: 1500 A; for 10 ms 45 J in the leads and 45 J between the electrodes of 180 J drawn."""
    made = pulse(circuit(12, 4, 2, 2), q(10, "ms"))
    assert made.current.to("A").magnitude == pytest.approx(1500)
    assert made.between_electrodes.to("V").magnitude == pytest.approx(3)
    energies = [part.to("J").magnitude for part in (made.energy_drawn, made.energy_leads, made.energy_contacts)]
    assert energies == pytest.approx([180, 45, 45])


def test_the_lead_that_is_used_for_250_amperes() -> None:
    """Common practice, no source: AWG 4, 4 ft, 250 A. By HyperPhysics' kind of table AWG 4 has 0.2485 Ω/1000 ft."""
    checked = check_lead(LEAD, q(250, "A"), q(30, "delta_degC"), duration=q(10, "ms"))
    assert checked.resistance.to("mohm").magnitude == pytest.approx(0.994, abs=5e-4)
    assert checked.drop.to("V").magnitude == pytest.approx(0.2485, abs=5e-5)
    assert checked.loss.to("W").magnitude == pytest.approx(62.1, abs=0.05)
    # IEC 60949: (226·21.15/250)²·ln((50 + 234.5)/(20 + 234.5)) = 40.75 s
    assert checked.time_to_rise.to("s").magnitude == pytest.approx(40.75, abs=0.05)
    assert checked.pulses_to_rise == pytest.approx(4075, abs=5)
    assert checked.rise_per_pulse is not None
    assert checked.rise_per_pulse.to("delta_degC").magnitude == pytest.approx(0.007, abs=5e-4)


def test_a_check_of_leads_says_that_it_is_no_setting() -> None:
    assert check_lead(LEAD, q(250, "A"), q(30, "delta_degC")).caution == NOT_A_SETTING
    assert "no setting" in NOT_A_SETTING


RESISTANCES = st.floats(0.1, 50)


@given(volts=st.floats(1, 30), parts=st.tuples(RESISTANCES, RESISTANCES, RESISTANCES), ms=st.floats(0.1, 100))
def test_energy_balance_closes(volts: float, parts: tuple[float, float, float], ms: float) -> None:
    made = pulse(circuit(volts, *parts), q(ms, "ms"))
    in_source = made.current**2 * q(parts[0], "mohm") * q(ms, "ms")
    together = (in_source + made.energy_leads + made.energy_contacts).to("J").magnitude
    assert together == pytest.approx(made.energy_drawn.to("J").magnitude, rel=1e-9)
    twice = pulse(circuit(2 * volts, *parts), q(ms, "ms"))
    assert (twice.energy_contacts / made.energy_contacts).to("").magnitude == pytest.approx(4, rel=1e-9)


@given(amps=st.floats(10, 3000), seconds=st.floats(0.01, 100), kelvins=st.floats(1, 100))
def test_the_smallest_lead_reaches_the_rise_in_just_that_time(amps: float, seconds: float, kelvins: float) -> None:
    rise = q(kelvins, "delta_degC")
    area = smallest_lead_area(LEAD, q(amps, "A"), q(seconds, "s"), rise)
    time = check_lead(wire(area, q(1, "m")), q(amps, "A"), rise).time_to_rise
    assert time.to("s").magnitude == pytest.approx(seconds, rel=1e-9)


@pytest.mark.parametrize(
    "broken",
    [
        lambda: pulse_current(circuit(12, 0, 0, 0)),
        lambda: pulse_current(circuit(float("nan"), 1, 1, 1)),
        lambda: pulse_current(circuit(12, -1, 1, 1)),
        lambda: pulse(circuit(12, 1, 1, 1), q(-1, "ms")),
        lambda: check_lead(LEAD, q(0, "A"), q(30, "delta_degC")),
        lambda: check_lead(LEAD, q(250, "A"), q(0, "delta_degC")),
    ],
)
def test_what_cannot_be_is_refused(broken: object) -> None:
    with pytest.raises(ImpossibleValue):
        broken()  # type: ignore[operator]
