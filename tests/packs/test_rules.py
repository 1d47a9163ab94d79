"""Every rule of the catalogue, asked below, at and above its limit, without a value, and out of its scope.

Expected outcomes follow from the words of the bounds ("at most", "at least", "more than", "between"); numbers of
single rules name their source beside them.
"""

from dataclasses import replace
from decimal import Decimal
from math import inf, nan
from typing import Any

import pytest

from packs.errors import ImpossibleValue
from packs.rules import (
    OUTLET_LIMITS,
    RULES,
    Bound,
    Context,
    Finding,
    Limit,
    Rule,
    RuleSet,
    check,
    outlet_limit,
    stopping,
    wording,
)
from packs.terms import CellFormat, Chemistry, DeviceClass, JointMethod, Outcome, Port, Severity, Stage, Term
from packs.units import Kind, Quantity, ureg

CATALOGUE = RuleSet()
UNITS = {
    Kind.VOLTAGE: "V",
    Kind.CURRENT: "A",
    Kind.CAPACITY: "mAh",
    Kind.TEMPERATURE: "degC",
    Kind.FRACTION: "percent",
    Kind.TORQUE: "N*m",
    Kind.RESISTANCE: "milliohm",
    Kind.TIME: "minute",
    Kind.INSULATION: "megaohm",
}


def fitting(rule: Rule) -> Context:
    """A situation in which the rule applies."""
    return Context(
        chemistry=min(rule.chemistries, default=Chemistry.NMC),
        cell_format=min(rule.formats, default=CellFormat.ROUND),
        joint_method=min(rule.joint_methods, default=JointMethod.SPOT_WELD),
        device_class=min(rule.device_classes, default=DeviceClass.MEDICAL),
    )


def left_out(terms: type[Term], scope: frozenset[Any]) -> Any:
    """A term that the scope does not hold, or any where the scope is open."""
    return next(term for term in terms if term not in scope and term != Chemistry.UNKNOWN)


def quantity(rule: Rule, number: float) -> Quantity:
    assert rule.kind is not None
    return ureg.Quantity(number, UNITS[rule.kind])


def having(*bounds: Bound) -> list[Rule]:
    return [rule for rule in RULES.values() if rule.bound in bounds]


def outside(rule: Rule, counts: float = 20.0) -> Quantity | None:
    """What a data sheet would say so that a limit of so much counts; nothing where the catalogue has the limit."""
    return quantity(rule, counts / rule.share.m_as("dimensionless")) if rule.limit is None else None


def edge(rule: Rule) -> float:
    """The limit that counts: the catalogue's, or the test's own."""
    assert not isinstance(rule.limit, tuple)
    if rule.limit is None:
        return 20.0
    return rule.limit if isinstance(rule.limit, int) else rule.limit.m_as(UNITS[rule.kind or Kind.COUNT])


def ask(rule: Rule, number: float, rules: RuleSet = CATALOGUE) -> Outcome:
    """Outcome with an outside limit of the test's own, where the catalogue has none."""
    return rules.check(rule.id, quantity(rule, number), limit=outside(rule), context=fitting(rule)).outcome


def names(rules: list[Rule]) -> list[str]:
    return [rule.id for rule in rules]


ONE_LIMIT = having(Bound.AT_MOST, Bound.AT_LEAST, Bound.ABOVE)
EXPECTED = {  # below, at, above the limit
    Bound.AT_MOST: (Outcome.PASS, Outcome.PASS, Outcome.FAIL),
    Bound.AT_LEAST: (Outcome.FAIL, Outcome.PASS, Outcome.PASS),
    Bound.ABOVE: (Outcome.FAIL, Outcome.FAIL, Outcome.PASS),
}


@pytest.mark.parametrize("rule", ONE_LIMIT, ids=names(ONE_LIMIT))
def test_one_limit(rule: Rule) -> None:
    numbers = (edge(rule) - 0.001, edge(rule), edge(rule) + 0.001)
    assert tuple(ask(rule, number) for number in numbers) == EXPECTED[rule.bound]


@pytest.mark.parametrize("rule", having(Bound.WITHIN), ids=names(having(Bound.WITHIN)))
@pytest.mark.parametrize(
    ("number", "outcome"),
    [(9.999, Outcome.FAIL), (10, Outcome.PASS), (30, Outcome.PASS), (45, Outcome.PASS), (45.001, Outcome.FAIL)],
)
def test_range(rule: Rule, number: float, outcome: Outcome) -> None:
    ends = (quantity(rule, 10), quantity(rule, 45))
    assert check(rule.id, quantity(rule, number), limit=ends, context=fitting(rule)).outcome is outcome


@pytest.mark.parametrize("rule", having(Bound.EQUALS), ids=names(having(Bound.EQUALS)))
def test_count(rule: Rule) -> None:
    needed = 8 if rule.limit is None else rule.limit
    assert isinstance(needed, int)
    given = 8 if rule.limit is None else None
    outcomes = [check(rule.id, needed + step, limit=given, context=fitting(rule)).outcome for step in (-1, 0, 1)]
    assert outcomes == [Outcome.FAIL, Outcome.PASS, Outcome.FAIL]


@pytest.mark.parametrize("rule", having(Bound.HOLDS), ids=names(having(Bound.HOLDS)))
def test_yes_or_no(rule: Rule) -> None:
    yes, no = (check(rule.id, answer, context=fitting(rule)) for answer in (True, False))
    assert (yes.outcome, yes.message) == (Outcome.PASS, rule.holds_words)
    assert no.outcome is Outcome.FAIL
    assert no.message not in ("", yes.message)
    assert check(rule.id, 1, context=fitting(rule)).outcome is Outcome.FAIL


# Common practice, no source: a box that nobody ticked says that nobody looked, not what somebody would have seen.
TICKED = {
    "dismantle.board_saved": "Not confirmed: what the board keeps is read out and saved, or it keeps nothing.",
    "dismantle.unpowered_accepted": (
        "Not confirmed: what the board does without supply is known, or whoever ordered the work accepts that it is not."
    ),
    "dismantle.insulated_tools": "Not confirmed: all tools are insulated for the voltage of the pack.",
    "dismantle.groups_covered": "Not confirmed: every group that is not worked on is covered.",
    "ladder.board_suits": (
        "Not confirmed: the board is for these groups and this chemistry; its trips were tried on a bench ladder, "
        "not on the pack."
    ),
    "housing.sensors": "Not confirmed: every temperature sensor sits on a cell again, or the pack has none.",
    "housing.gasket": "Not confirmed: the case shuts as it is meant to: its screws at their torque, its gasket whole where it has one.",
    "final.board_cutoff": (
        "Not confirmed: the board cut the discharge off, and its load trip was tried as its maker says."
    ),
    "join.breached_isolated": (
        "Not confirmed: work stopped; the block lies apart, on what does not burn, its ends covered."
    ),
    "park.ends_insulated": "Not confirmed: every free end, strip and lead is insulated, one by one.",
    "park.supply_off": "Not confirmed: the supply is disconnected from the pack.",
    "housing.thermal_cutoff": "Not confirmed: a thermal cut-off sits on a cell and opens the charging path.",
    "first_charge.ends_itself": (
        "Not confirmed: the charger ends by the fall of the voltage (−ΔV) or by a timer; it is none for lithium-ion."
    ),
    "housing.compression": "Not confirmed: the flat cells are held as their data sheet says: plates, force or gap.",
    "housing.fixed": "Not confirmed: the cells cannot move.",
    "housing.wires": "Not confirmed: no wire is pinched or lies on a sharp edge.",
    "housing.insulation": "Not confirmed: every strip and terminal is covered.",
    "housing.vent_path": "Not confirmed: the vents of the cells are free.",
    "housing.strain_relief": "Not confirmed: a pull on the leads does not reach the joints.",
    "join.polarity_second_look": "Not confirmed: a second look found insulators and polarity of every group as drawn.",
    "join.cooled": "Not confirmed: each joint that was made again cooled to the touch first, and went to a new spot.",
    "join.clean_faces": "Not confirmed: every terminal and bar face was cleaned bright just before it was bolted.",
    "first_charge.supervised": "Not confirmed: someone stays with the pack for the whole first charge.",
}


@pytest.mark.parametrize(("rule", "message"), TICKED.items())
def test_a_box_that_nobody_ticked_is_not_confirmed(rule: str, message: str) -> None:
    assert check(rule, False, context=fitting(RULES[rule])).message == message


def test_every_other_yes_or_no_says_what_was_found() -> None:
    assert {rule.id for rule in having(Bound.HOLDS) if not rule.fails_words} == set(TICKED)


def test_no_bound_is_left_out() -> None:
    tested = {*names(ONE_LIMIT), *names(having(Bound.WITHIN, Bound.EQUALS, Bound.HOLDS))}
    assert tested == set(RULES)


def some_limit(rule: Rule) -> Limit | None:
    if rule.limit is not None or rule.bound is Bound.HOLDS:
        return None
    if rule.bound is Bound.EQUALS:
        return 8
    return (quantity(rule, 10), quantity(rule, 45)) if rule.bound is Bound.WITHIN else quantity(rule, 20)


@pytest.mark.parametrize("rule", RULES.values(), ids=RULES)
def test_nothing_measured_is_never_a_pass(rule: Rule) -> None:
    finding = check(rule.id, None, limit=some_limit(rule), context=fitting(rule))
    assert finding.outcome is Outcome.UNKNOWN
    assert rule.quantity in finding.message
    assert finding.stops is (rule.severity is Severity.STOP)


MEASURED = [rule for rule in RULES.values() if rule.kind in UNITS]


@pytest.mark.parametrize("number", [nan, inf, -inf])
@pytest.mark.parametrize("rule", MEASURED, ids=names(MEASURED))
def test_what_is_not_a_number_fails(rule: Rule, number: float) -> None:
    finding = check(rule.id, quantity(rule, number), limit=some_limit(rule), context=fitting(rule))
    assert finding.outcome is Outcome.FAIL
    assert "not a number" in finding.message


@pytest.mark.parametrize("rule", having(Bound.EQUALS), ids=names(having(Bound.EQUALS)))
def test_a_count_that_is_not_a_number_fails(rule: Rule) -> None:
    for value in (ureg.Quantity(nan, "dimensionless"), True, False):
        assert check(rule.id, value, limit=some_limit(rule), context=fitting(rule)).outcome is Outcome.FAIL


@pytest.mark.parametrize("number", [nan, inf])
@pytest.mark.parametrize("rule", [rule for rule in ONE_LIMIT if rule.limit is None], ids=lambda rule: rule.id)
def test_a_limit_that_is_not_a_number_lets_nothing_through(rule: Rule, number: float) -> None:
    finding = check(rule.id, quantity(rule, 1), limit=quantity(rule, number), context=fitting(rule))
    assert finding.outcome is Outcome.FAIL


LIMIT_FROM_OUTSIDE = [
    rule for rule in RULES.values() if rule.limit is None and rule.floor is None and rule.bound is not Bound.HOLDS
]


@pytest.mark.parametrize("rule", LIMIT_FROM_OUTSIDE, ids=names(LIMIT_FROM_OUTSIDE))
def test_a_missing_limit_is_named(rule: Rule) -> None:
    value = 8 if rule.bound is Bound.EQUALS else quantity(rule, 1)
    finding = check(rule.id, value, context=fitting(rule))
    assert finding.outcome is Outcome.UNKNOWN
    assert rule.limit_words
    assert rule.limit_words in finding.message


SCOPES = {"chemistries": Chemistry, "formats": CellFormat, "joint_methods": JointMethod, "device_classes": DeviceClass}
ONE_OF = {
    "chemistries": "chemistry",
    "formats": "cell_format",
    "joint_methods": "joint_method",
    "device_classes": "device_class",
}
SCOPED = [rule for rule in RULES.values() if any(getattr(rule, scope) for scope in SCOPES)]


@pytest.mark.parametrize("scope", SCOPES)
@pytest.mark.parametrize("rule", RULES.values(), ids=RULES)
def test_scope(rule: Rule, scope: str) -> None:
    outside = replace(fitting(rule), **{ONE_OF[scope]: left_out(SCOPES[scope], getattr(rule, scope))})
    scoped = bool(getattr(rule, scope))
    assert (check(rule.id, None, context=outside).outcome is Outcome.NOT_APPLICABLE) is scoped


@pytest.mark.parametrize("rule", RULES.values(), ids=RULES)
def test_a_rule_on_every_cell_does_not_apply_beside_groups_that_nobody_measured(rule: Rule) -> None:
    finding = check(rule.id, None, limit=some_limit(rule), context=replace(fitting(rule), cells_unknown=True))
    assert (finding.outcome is Outcome.NOT_APPLICABLE) is (rule.id == "final.capacity")
    assert finding.outcome is not Outcome.PASS


@pytest.mark.parametrize("context", [Context(), Context(chemistry=Chemistry.UNKNOWN)], ids=["nothing", "chemistry"])
@pytest.mark.parametrize("rule", SCOPED, ids=names(SCOPED))
def test_a_scope_that_is_not_known_is_never_a_pass(rule: Rule, context: Context) -> None:
    value = True if rule.bound is Bound.HOLDS else 8 if rule.bound is Bound.EQUALS else quantity(rule, 20)
    finding = check(rule.id, value, limit=some_limit(rule), context=context)
    assert finding.outcome is Outcome.UNKNOWN
    assert "is not known" in finding.message


def flaws(rule: Rule) -> list[str]:
    """What is missing of an entry of the catalogue: nothing of a rule that can be asked, told and looked up."""
    said = check_said(rule)
    asked = {
        "id": not rule.id.strip() or "." not in rule.id,
        "source": not rule.source.strip(),
        "quantity": not rule.quantity.strip(),
        "step": rule.stage not in list(Stage),
        "severity": rule.severity not in list(Severity),
        "measure": (rule.kind is None) is not (rule.bound is Bound.HOLDS),
        "limit": rule.limit is None and rule.bound is not Bound.HOLDS and not rule.limit_words,
        "message": not all(words.endswith(".") and words[0].isupper() for words in said),
        "reading": bool(rule.reads) and rule.reads.count("{}") != 1,
        "yes": bool(rule.holds_words) is not (rule.bound is Bound.HOLDS),
        "no": bool(rule.fails_words) and not rule.holds_words,
        "practice": rule.own_practice
        and "common practice" not in rule.source,  # a standard is not the shop's to loosen
    }
    return [what for what, missing in asked.items() if missing]


def check_said(rule: Rule) -> list[str]:
    """The sentences of a rule when it holds, when it does not, and while nothing is known."""
    if rule.bound is Bound.HOLDS:
        return [rule.holds_words or "-", rule.fails_words or "Not confirmed."]
    texts = wording.Texts("7 V", ("8 V", "9 V") if rule.bound is Bound.WITHIN else ("8 V",))
    limits = tuple(Decimal(number) for number in (8, 9)[: len(texts.limits)])
    missing = wording.not_measured(rule, texts.limits)
    return [wording.answered(rule, Decimal(7), limits, texts), missing, wording.no_limit(rule, "7 V")]


@pytest.mark.parametrize("rule", RULES.values(), ids=RULES)
def test_catalogue_entry_is_complete(rule: Rule) -> None:
    assert flaws(rule) == []


VOLTS = Rule(
    id="test.volts",
    quantity="voltage at the lamp",
    kind=Kind.VOLTAGE,
    bound=Bound.AT_MOST,
    severity=Severity.STOP,
    stage=Stage.LADDER,
    source="invented",
    limit_words="the voltage on the lamp",
)
LOOK = replace(VOLTS, kind=None, bound=Bound.HOLDS, limit_words="", holds_words="The lamp is off.")


@pytest.mark.parametrize(
    ("rule", "flaw"),
    [
        (VOLTS, ""),
        (LOOK, ""),
        (replace(VOLTS, id="volts"), "id"),
        (replace(VOLTS, source=" "), "source"),
        (replace(VOLTS, quantity=""), "quantity"),
        (replace(VOLTS, stage="ladders"), "step"),
        (replace(VOLTS, severity="grave"), "severity"),
        (replace(VOLTS, kind=None), "measure"),
        (replace(VOLTS, limit_words=""), "limit"),
        (replace(VOLTS, reads="over two lamps"), "reading"),
        (replace(LOOK, holds_words=""), "message"),
        (replace(LOOK, fails_words="the lamp is on"), "message"),
        (replace(VOLTS, fails_words="It is on."), "no"),
        (replace(VOLTS, own_practice=True), "practice"),
    ],
)
def test_an_incomplete_entry_is_found(rule: Rule, flaw: str) -> None:
    """Without this the test of the catalogue could pass by finding nothing."""
    assert flaw in flaws(rule) if flaw else not flaws(rule)


FIXED_IDS = """
takein.no_red_sign takein.amber_cleared cell.recovery_voltage cell.health cell.tested target.cell_current
target.charger_voltage target.step_down target.chemistry_known target.reclaimed_in_medical dismantle.charge_low
dismantle.all_recorded place.right_cell place.all_placed measure.all_measured measure.joining_current
measure.rest_spread join.peel_sample join.joints join.polarity_second_look ladder.rest_agreement ladder.tap
housing.fixed housing.wires housing.insulation housing.vent_path housing.strain_relief first_charge.supervised
first_charge.temperature first_charge.group_voltage first_charge.charger_voltage final.capacity final.outlet
final.group_spread final.rest_agreement handover.accounted handover.report handover.disposal_note
handover.removed_gone target.compression_known join.clean_faces join.torque join.contact_resistance housing.compression
first_charge.pack_voltage first_charge.current
"""


def test_ids_that_are_stored_stay() -> None:
    assert set(FIXED_IDS.split()) <= set(RULES)


def plain(finding: Finding) -> str:
    return finding.message.replace("\N{NARROW NO-BREAK SPACE}", " ")


def volts(number: float, unit: str = "V") -> Quantity:
    return ureg.Quantity(number, unit)


@pytest.mark.parametrize(
    ("measured", "limit", "message"),
    [
        (volts(0.12), volts(0.1), "differs from the sum of its groups by 0.12 V; at most 0.10 V is allowed."),
        (
            volts(0.1004),
            volts(100, "mV"),
            "differs from the sum of its groups by 0.1004 V; at most 0.1000 V is allowed.",
        ),
        (volts(0.02), volts(0.05), "differs from the sum of its groups by 0.02 V; at most 0.10 V is allowed."),
    ],
)
def test_sentence_shows_one_unit_and_numbers_that_differ(measured: Quantity, limit: Quantity, message: str) -> None:
    assert plain(check("ladder.rest_agreement", measured, limit=limit)).endswith(message)


def test_unit_it_was_typed_in_does_not_matter() -> None:
    at_limit = check("ladder.tap", volts(100, "mV"), limit=volts(0.1))
    assert at_limit.outcome is Outcome.PASS
    assert check("ladder.tap", volts(0.1 + 0.2 - 0.2), limit=volts(100, "mV")).outcome is Outcome.PASS


@pytest.mark.parametrize("rule", ONE_LIMIT, ids=names(ONE_LIMIT))
@pytest.mark.parametrize("step", [0.000001, 0.001, 0.5])
def test_a_failing_sentence_never_shows_two_equal_numbers(rule: Rule, step: float) -> None:
    number = edge(rule) + step if rule.bound is Bound.AT_MOST else edge(rule) - step
    finding = check(rule.id, quantity(rule, number), limit=outside(rule), context=fitting(rule))
    assert finding.outcome is Outcome.PASS or finding.measured != finding.limit
    assert step < 0.001 or finding.outcome is Outcome.FAIL


def test_equal_where_more_is_needed_is_said_once() -> None:
    finding = check("target.step_down", volts(6), limit=volts(6))
    assert finding.outcome is Outcome.FAIL
    assert plain(finding) == "Lowest voltage of the stack is exactly the 6.00 V that it must exceed."


# USB 2.0 section 7.2.2, Table 7-7 and USB Power Delivery vSafe5V (values as quoted by others, clauses from memory).
@pytest.mark.parametrize(
    ("port", "voltage", "outcome"),
    [
        ("usb_high_power", 4.74, Outcome.FAIL),
        ("usb_high_power", 4.75, Outcome.PASS),
        ("usb_high_power", 5.25, Outcome.PASS),
        ("usb_high_power", 5.26, Outcome.FAIL),
        ("usb_low_power", 4.40, Outcome.PASS),
        ("usb_low_power", 4.39, Outcome.FAIL),
        ("usb_type_c", 5.26, Outcome.PASS),
        ("usb_type_c", 5.50, Outcome.PASS),
        ("usb_type_c", 5.51, Outcome.FAIL),
    ],
)
def test_outlet(port: str, voltage: float, outcome: Outcome) -> None:
    low, high, source = OUTLET_LIMITS[port]
    finding = check("final.outlet", volts(voltage), limit=(low, high), limit_source=source)
    assert finding.outcome is outcome
    assert source in finding.source


# Common practice, no source: 5 % around an outlet's stated voltage; 12 V may be 11.4 to 12.6 V. A 5 V port keeps its own.
@pytest.mark.parametrize(
    ("stated", "voltage", "outcome"),
    [
        (12, 11.399, Outcome.FAIL),
        (12, 11.4, Outcome.PASS),
        (12, 12.6, Outcome.PASS),
        (12, 12.601, Outcome.FAIL),
        (5, 5.251, Outcome.FAIL),
        (5, 4.75, Outcome.PASS),
        (5, 4.749, Outcome.FAIL),
        (19.5, 18.525, Outcome.PASS),
        (19.5, 18.524, Outcome.FAIL),
    ],
)
def test_outlet_of_any_voltage(stated: float, voltage: float, outcome: Outcome) -> None:
    low, high, source = outlet_limit(volts(stated))
    assert check("final.outlet", volts(voltage), limit=(low, high), limit_source=source).outcome is outcome


# USB Power Delivery, vSafe5V, as above: type C goes up to 5.50 V, type A to 5.25 V.
@pytest.mark.parametrize(("port", "high"), [(None, 5.25), (Port.USB_A, 5.25), (Port.USB_C, 5.5)])
def test_the_window_of_a_five_volt_port(port: Port | None, high: float) -> None:
    window = outlet_limit(volts(5), port)
    assert (window.low.m_as("V"), window.high.m_as("V")) == (4.75, high)
    assert outlet_limit(volts(12), port).high.m_as("V") == pytest.approx(12.6)


# Common practice, no source: a 4s pack of cells that take 4.35 V is full at 17.4 V; 99 % of it is 17.226 V.
@pytest.mark.parametrize(
    ("charger", "outcome"), [(16.8, Outcome.FAIL), (17.225, Outcome.FAIL), (17.226, Outcome.PASS), (17.4, Outcome.PASS)]
)
def test_a_charger_that_does_not_fill_the_pack_is_noted_and_stops_nothing(charger: float, outcome: Outcome) -> None:
    lithium = Context(chemistry=Chemistry.NMC)
    finding = check("target.charger_fills", volts(charger), limit=volts(17.4), context=lithium)
    assert finding.outcome is outcome
    assert not finding.stops
    assert finding.severity is Severity.NOTE
    assert ("the pack will not be full" in finding.message) is (outcome is Outcome.FAIL)


def test_pack_and_groups_that_disagree_as_found_are_a_warning() -> None:
    """Kirchhoff's voltage law: 14.42 V beside groups of 4 × 3.6 V is right, 13.2 V is not."""
    right, wrong = (check("examine.rest_agreement", volts(apart), limit=volts(0.1)) for apart in (0.02, 1.2))
    assert (right.outcome, wrong.outcome, wrong.stops) == (Outcome.PASS, Outcome.FAIL, False)
    assert plain(wrong).startswith(
        "Rest voltage of the pack differs from the sum of its groups by 1.20 V; at most 0.10 V"
    )
    assert "Measure again before anything is cut" in wrong.message


# Common practice, no source: 60 % of the rated capacity; 2600 mAh rated makes 1560 mAh.
@pytest.mark.parametrize(("capacity", "outcome"), [(1559, Outcome.FAIL), (1560, Outcome.PASS)])
def test_health(capacity: int, outcome: Outcome) -> None:
    assert check("cell.health", ureg.Quantity(capacity / 2600, "dimensionless")).outcome is outcome


# Common practice, no source: rest voltages of cells to be joined lie within 50 mV.
@pytest.mark.parametrize(("spread", "outcome"), [(50, Outcome.PASS), (50.1, Outcome.FAIL)])
def test_rest_spread_has_its_own_limit(spread: float, outcome: Outcome) -> None:
    assert (
        check("measure.rest_spread", volts(spread, "mV"), context=Context(chemistry=Chemistry.NMC)).outcome is outcome
    )


def test_a_limit_of_the_catalogue_is_not_given_by_who_asks() -> None:
    with pytest.raises(ImpossibleValue):
        check("handover.removed_gone", 3, limit=3)


def test_wrong_dimension_is_refused() -> None:
    with pytest.raises(ImpossibleValue, match="is not a voltage"):
        check("ladder.tap", ureg.Quantity(1, "A"), limit=volts(1))


def test_one_limit_where_two_are_needed_is_refused() -> None:
    with pytest.raises(ImpossibleValue, match="low and a high"):
        check("final.outlet", volts(5), limit=volts(5))


def test_stopping_keeps_failed_and_unknown_stop_rules_only() -> None:
    findings = [
        check("ladder.tap", volts(0.2), limit=volts(0.1)),
        check("ladder.tap", None, limit=volts(0.1), where="tap 2"),
        check("ladder.tap", volts(0.1), limit=volts(0.1)),
        check("first_charge.group_spread", volts(1)),
        check("join.peel_sample", False, context=Context(joint_method=JointMethod.BOLTED)),
    ]
    assert [finding.where for finding in stopping(findings)] == ["", "tap 2"]
