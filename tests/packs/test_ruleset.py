"""What a shop makes of the catalogue: numbers of its own, and exceptions in writing, asked of every rule there is.

Expected outcomes follow from the words of the order: tighter always, looser only the shop's own practice, an exception
for one rule that a lead may accept. Numbers of single rules are invented, or worked out beside them.
"""

from decimal import Decimal
from math import inf, nan

import pytest

from packs.errors import ImpossibleValue
from packs.rules import (
    RULE_SET_VERSION,
    RULES,
    Acceptance,
    Acts,
    Bound,
    Context,
    Own,
    Rule,
    RuleSet,
    may_be_accepted,
    own,
    stopping,
)
from packs.terms import Chemistry, Outcome, Severity
from packs.units import ureg
from tests.packs.test_rules import CATALOGUE, UNITS, edge, fitting, names, outside, plain, quantity, volts

SETTABLE = [rule for rule in RULES.values() if rule.number is not None]
ONE_ENDED = [rule for rule in SETTABLE if rule.bound is not Bound.WITHIN]
FIXED = [rule for rule in RULES.values() if rule.number is None]
STRICTER, LAXER = Decimal("0.8"), Decimal("1.25")


def number(rule: Rule) -> Decimal:
    found = own.default(rule)
    assert found is not None
    return found


def tighter(rule: Rule, *, by: Decimal = STRICTER) -> Decimal:
    """The catalogue's number, stricter by a fifth or a quarter."""
    return number(rule) * by if rule.bound in (Bound.AT_MOST, Bound.WITHIN) else number(rule) / by


def looser(rule: Rule) -> Decimal:
    return tighter(rule, by=LAXER)


def shop(rule: Rule, value: Decimal, record: int = 1) -> RuleSet:
    return RuleSet(numbers={rule.id: Own(value, record)}, records=record)


def between(rule: Rule, value: Decimal) -> float:
    """A reading between the catalogue's limit and the shop's."""
    return edge(rule) * (1 + float(value / number(rule))) / 2


def outcome(rules: RuleSet, rule: Rule, reading: float) -> Outcome:
    return rules.check(rule.id, quantity(rule, reading), limit=outside(rule), context=fitting(rule)).outcome


@pytest.mark.parametrize("rule", ONE_ENDED, ids=names(ONE_ENDED))
def test_a_tightened_limit_is_asked(rule: Rule) -> None:
    """Where a limit from outside stands above a floor, the outside counts: a meter that is off can't be tightened away."""
    value = tighter(rule)
    assert own.doubt(rule, value) == ""
    at = outside(rule) if rule.acts is not Acts.FLOOR else None
    reading = quantity(rule, between(rule, value) if rule.acts is not Acts.FLOOR else 0.09)
    asked = [rules.check(rule.id, reading, limit=at, context=fitting(rule)) for rules in (CATALOGUE, shop(rule, value))]
    assert [one.outcome for one in asked] == [Outcome.PASS, Outcome.FAIL]
    assert "the shop's own: " in asked[1].source
    assert "the shop's own" not in asked[0].source


@pytest.mark.parametrize("rule", SETTABLE, ids=names(SETTABLE))
def test_only_the_shops_own_practice_is_loosened(rule: Rule) -> None:
    doubt = own.doubt(rule, looser(rule))
    assert (doubt == "") is rule.own_practice
    assert rule.own_practice or "looser" in doubt


@pytest.mark.parametrize("rule", ONE_ENDED, ids=names(ONE_ENDED))
def test_a_looser_number_on_record_counts_for_nothing_but_own_practice(rule: Rule) -> None:
    """The catalogue may become stricter than what a shop once set."""
    if rule.acts is Acts.FLOOR:
        rules, reading = shop(rule, looser(rule)), ureg.Quantity(0.11, "V")
        found = rules.check(rule.id, reading, context=fitting(rule)).outcome
    else:
        found = outcome(shop(rule, looser(rule)), rule, between(rule, looser(rule)))
    assert found is (Outcome.PASS if rule.own_practice else Outcome.FAIL)


@pytest.mark.parametrize("value", [Decimal("NaN"), Decimal("Infinity"), Decimal(0), Decimal(-1)])
@pytest.mark.parametrize("rule", SETTABLE, ids=names(SETTABLE))
def test_what_is_no_limit_is_not_set(rule: Rule, value: Decimal) -> None:
    assert own.doubt(rule, value)


@pytest.mark.parametrize("rule", SETTABLE, ids=names(SETTABLE))
def test_a_slip_of_the_unit_is_not_set(rule: Rule) -> None:
    """A thousand times as strict: volts typed as millivolts, or the other way round."""
    assert own.doubt(rule, tighter(rule, by=Decimal("0.001")))


@pytest.mark.parametrize("rule", FIXED, ids=names(FIXED))
def test_a_yes_or_no_or_a_count_has_no_number(rule: Rule) -> None:
    assert rule.acts is None
    assert own.doubt(rule, Decimal(1))


@pytest.mark.parametrize("rule", SETTABLE, ids=names(SETTABLE))
@pytest.mark.parametrize("reading", [nan, inf, -inf])
def test_what_is_not_a_number_fails_with_a_shops_limit_too(rule: Rule, reading: float) -> None:
    given = (quantity(rule, 10), quantity(rule, 45)) if rule.bound is Bound.WITHIN else outside(rule)
    rules = shop(rule, tighter(rule))
    assert rules.check(rule.id, quantity(rule, reading), limit=given, context=fitting(rule)).outcome is Outcome.FAIL
    assert rules.check(rule.id, None, limit=given, context=fitting(rule)).outcome is Outcome.UNKNOWN


@pytest.mark.parametrize("rule", [rule for rule in SETTABLE if rule.bound is Bound.WITHIN], ids=lambda rule: rule.id)
def test_a_window_narrows_around_its_middle(rule: Rule) -> None:
    """The middle 80 % of 10 to 45 is 13.5 to 41.5."""
    rules, ends = shop(rule, Decimal(80)), (quantity(rule, 10), quantity(rule, 45))
    readings = [13.499, 13.501, 41.499, 41.501]
    found = [rules.check(rule.id, quantity(rule, each), limit=ends, context=fitting(rule)).outcome for each in readings]
    assert found == [Outcome.FAIL, Outcome.PASS, Outcome.PASS, Outcome.FAIL]


def test_a_shares_words_say_how_much_of_what() -> None:
    rule = RULES["first_charge.current"]
    found = shop(rule, Decimal(50)).check(
        rule.id, ureg.Quantity(1.1, "A"), limit=ureg.Quantity(2, "A"), limit_source="sheet"
    )
    assert plain(found) == "Charging current of the pack is 1.10 A; at most 1.00 A is allowed."
    assert "limit: 50\N{NARROW NO-BREAK SPACE}% of sheet; the shop's own: 50\N{NARROW NO-BREAK SPACE}%" in found.source
    missing = shop(rule, Decimal(50)).check(rule.id, ureg.Quantity(1.1, "A"))
    assert plain(missing).endswith(
        "its limit is missing: 50 % of the largest charge current on the cell's data sheet times the cells of a group."
    )


def test_the_meters_own_error_stands_above_a_tightened_tolerance() -> None:
    """Two readings of a meter that is off by 0.1 V may lie 0.2 V apart, whatever the shop would like."""
    rules = shop(RULES["ladder.tap"], Decimal(50))
    asked = [rules.check("ladder.tap", volts(apart), limit=volts(0.2)).outcome for apart in (0.2, 0.201)]
    alone = [rules.check("ladder.tap", volts(apart)).outcome for apart in (0.05, 0.051)]
    assert asked == alone == [Outcome.PASS, Outcome.FAIL]


def test_a_shops_own_practice_may_be_loosened_and_the_finding_says_so() -> None:
    """50 mV in the catalogue, 80 mV in an invented shop."""
    own = shop(RULES["measure.rest_spread"], Decimal(80))
    finding = own.check("measure.rest_spread", volts(80, "mV"), context=Context(chemistry=Chemistry.NMC))
    assert finding.outcome is Outcome.PASS
    assert "the shop's own: 80\N{NARROW NO-BREAK SPACE}mV" in finding.source


# Common practice, no source: 95 % of what the weakest group holds; 5130 mAh makes 4873.5 mAh.
@pytest.mark.parametrize(("capacity", "found"), [(4873.4, Outcome.FAIL), (4873.5, Outcome.PASS)])
def test_a_finished_pack_gives_95_percent_of_its_weakest_group(capacity: float, found: Outcome) -> None:
    given = {"limit": ureg.Quantity(5130, "mAh"), "limit_source": "weakest group"}
    finding = CATALOGUE.check("final.capacity", ureg.Quantity(capacity, "mAh"), **given)
    assert finding.outcome is found
    assert "95\N{NARROW NO-BREAK SPACE}% of weakest group" in finding.source


def test_the_version_changes_with_every_record() -> None:
    assert CATALOGUE.version == RULE_SET_VERSION
    assert [RuleSet(records=record).version for record in (1, 12)] == [
        f"{RULE_SET_VERSION}.1",
        f"{RULE_SET_VERSION}.12",
    ]


def test_no_limit_can_be_given_where_the_catalogue_has_one() -> None:
    with pytest.raises(ImpossibleValue):
        CATALOGUE.limit("measure.rest_spread", volts(1))


# --- written exceptions

ACCEPTED = Acceptance(number=7, by="Ada Lind", at="2026-11-30T09:00:00+00:00", reason="leads are soldered to the case")


def accepting(rule: Rule) -> RuleSet:
    return RuleSet(exceptions={rule.id: ACCEPTED})


def failing(rule: Rule, rules: RuleSet, context: Context | None = None) -> object:
    """Ask with a value that does not hold."""
    asked = {"context": context or fitting(rule)}
    if rule.bound is Bound.HOLDS:
        return rules.check(rule.id, False, **asked)
    if rule.bound is Bound.EQUALS:
        return rules.check(rule.id, 99, limit=8 if rule.limit is None else None, **asked)
    if rule.bound is Bound.WITHIN:
        return rules.check(rule.id, quantity(rule, 99), limit=(quantity(rule, 10), quantity(rule, 45)), **asked)
    beyond = edge(rule) * (1.5 if rule.bound is Bound.AT_MOST else 0.5)
    return rules.check(rule.id, quantity(rule, beyond), limit=outside(rule), **asked)


@pytest.mark.parametrize("rule", RULES.values(), ids=RULES)
def test_an_exception_covers_a_failed_or_unknown_stop_that_a_lead_may_accept(rule: Rule) -> None:
    due = {True: Outcome.ACCEPTED, False: Outcome.FAIL}[may_be_accepted(rule)]
    found, bare = failing(rule, accepting(rule)), failing(rule, CATALOGUE)
    assert (found.outcome, bare.outcome) == (due, Outcome.FAIL)
    assert found.stops is (rule.severity is Severity.STOP and due is Outcome.FAIL)
    unknown = accepting(rule).check(rule.id, None, context=fitting(rule))
    assert unknown.outcome is (Outcome.ACCEPTED if may_be_accepted(rule) else Outcome.UNKNOWN)
    if due is Outcome.ACCEPTED:
        assert found.accepted == unknown.accepted == ACCEPTED
        assert found.message == f"{bare.message} Accepted in writing by Ada Lind: leads are soldered to the case"


@pytest.mark.parametrize("rule", RULES.values(), ids=RULES)
def test_an_exception_for_a_rule_is_none_for_another(rule: Rule) -> None:
    others = RuleSet(exceptions={name: ACCEPTED for name in RULES if name != rule.id})
    assert failing(rule, others).outcome is Outcome.FAIL


def test_what_holds_or_does_not_apply_needs_no_exception() -> None:
    rule = RULES["housing.strain_relief"]
    assert accepting(rule).check(rule.id, True).outcome is Outcome.PASS
    sample = RULES["join.peel_sample"]
    bolted = Context(joint_method=next(m for m in type(min(sample.joint_methods)) if m not in sample.joint_methods))
    assert failing(sample, accepting(sample), bolted).outcome is Outcome.NOT_APPLICABLE


# What can set fire, as the order of the hold points names it, allows no exception: red signs, cells below recovery,
# what ends a first charge, the charging window, the charger, a cell beyond its current, what flows on joining.
BURNS = """
takein.no_red_sign takein.amber_cleared target.charger_voltage target.cell_current target.compression_known
cell.recovery_voltage cell.holds_charge measure.joining_current measure.all_measured join.polarity_second_look
ladder.tap ladder.rest_agreement housing.vent_path housing.insulation housing.wires housing.fixed housing.compression
first_charge.supervised first_charge.temperature first_charge.group_voltage first_charge.pack_voltage
first_charge.current first_charge.charger_voltage
"""


@pytest.mark.parametrize("name", BURNS.split())
def test_what_can_set_fire_is_never_accepted(name: str) -> None:
    rule = RULES[name]
    assert rule.no_exception
    found = failing(rule, accepting(rule))
    assert found.outcome is Outcome.FAIL
    assert stopping([found])


def test_something_can_be_accepted_at_all() -> None:
    """Without this the tests above could pass by refusing everything."""
    assert {name for name, rule in RULES.items() if may_be_accepted(rule)} >= {
        "housing.strain_relief",
        "final.capacity",
        "join.peel_sample",
    }


def test_every_unit_of_a_rule_is_known_here() -> None:
    assert {rule.kind for rule in RULES.values() if rule.kind} <= {*UNITS, *(rule.kind for rule in FIXED)}
