"""The joints of a pack as a try of joining states them: strips that are on, joints made again, bolts as they were read."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db.models import QuerySet

from packs.terms import CellEnd, JointMethod, Measure
from shop.bridge import layouts
from shop.errors import ShopError
from shop.models import Joint, JointState, Plan, PlanPosition, User

from .base import save
from .possible import refuse
from .readings import Taken


@dataclass(frozen=True, kw_only=True)
class StripJoined:
    """What was done on one strip or bar: spots on each joint and joints made again, or torque and contact resistance."""

    strip: int
    spots: int = 0
    failed: int = 0
    torque_mnm: Decimal | None = None
    contact_uohm: Decimal | None = None


def require_strips(plan: Plan, strips: Sequence[StripJoined]) -> None:
    """Refuse a strip that the drawing does not have, one that comes twice, and failures nobody could have had."""
    joints = {strip.number: len(strip.joints) for strip in layouts.to_join(plan)}
    numbers = [strip.strip for strip in strips]
    if unknown := sorted({number for number in numbers if number not in joints}):
        raise ShopError("no_such_strip", f"The drawing has no strip {', '.join(map(str, unknown))}.", strips=unknown)
    if len(set(numbers)) < len(numbers):
        raise ShopError("strip_twice", "A strip is named twice.", strips=numbers)
    word = JointMethod(plan.joint_method).conductor.capitalize()
    doubts = {f"failed_{one.strip}": _doubt(word, one, joints[one.strip]) for one in strips}
    refuse("impossible_value", doubts)


def _doubt(word: str, one: StripJoined, joints: int) -> str:
    if one.failed <= joints:
        return ""
    return (
        f"{word} {one.strip} has {joints} joints, {one.failed} cannot have been made again. Count each joint once, "
        "however often it was made again. Nothing was recorded yet."
    )


def require_no_fewer(plan: Plan, strips: Sequence[StripJoined]) -> None:
    """Joints of a strip that lies there since were made again as often as it was written: refuse fewer."""
    word, standing = JointMethod(plan.joint_method).conductor.capitalize(), _by_strip(plan)
    fewer: dict[str, str] = {}
    for one in strips:
        before = sum(joint.state == JointState.FAILED for joint in standing.get(one.strip, []))
        if one.failed < before:
            fewer[f"failed_{one.strip}"] = (
                f"{word} {one.strip}: {before} made again were written down before, {one.failed} now. A try does not go "
                "away; take the strip off where it is laid anew."
            )
    refuse("tries_fell", fewer)


def state(plan: Plan, strips: Sequence[StripJoined], *, by: User, at: datetime) -> list[int]:
    """Make the joints what is stated: a strip that is not named is off; return those taken off or stated anew.

    Joints that stood before stay in the table, as undone.
    """
    stated = {strip.strip: strip for strip in strips}
    positions = {(position.group, position.place): position for position in plan.positions.all()}
    standing = _by_strip(plan)
    undone: list[int] = []
    for strip in layouts.to_join(plan):
        there, one = standing.get(strip.number, []), stated.get(strip.number)
        if one is not None and _same(there, one, len(strip.joints)):
            continue
        if there:
            undone.append(strip.number)
            _undo(there)
        if one is not None:
            _make([(positions[joint.group, joint.place], joint.end) for joint in strip.joints], one, plan, by, at)
    return undone


def made(plan: Plan) -> "QuerySet[Joint]":
    """Return the joints of a plan that hold."""
    return Joint.objects.filter(position__plan=plan, state=JointState.MADE.value)


def failed(plan: Plan) -> "QuerySet[Joint]":
    """Return the joints of a plan that did not hold and were made again."""
    return Joint.objects.filter(position__plan=plan, state=JointState.FAILED.value)


def bolted(strips: Sequence[StripJoined]) -> list[Taken]:
    """Return what was read of the bolts of each bar."""
    torque = [(f"bar {one.strip}", Measure.TORQUE, one.torque_mnm) for one in strips]
    return [*torque, *((f"bar {one.strip}", Measure.CONTACT_RESISTANCE, one.contact_uohm) for one in strips)]


def _by_strip(plan: Plan) -> Mapping[int, list[Joint]]:
    by_strip: dict[int, list[Joint]] = {}
    for joint in Joint.objects.filter(position__plan=plan).exclude(state=JointState.UNDONE.value):
        by_strip.setdefault(joint.strip, []).append(joint)
    return by_strip


def _same(there: Sequence[Joint], one: StripJoined, joints: int) -> bool:
    """Whether a strip stands as it is stated: all its joints made, with these spots, and as many made again."""
    held = [joint for joint in there if joint.state == JointState.MADE]
    spots = {joint.spots for joint in there}
    return len(held) == joints and len(there) - len(held) == one.failed and spots == {one.spots}


def _undo(there: Iterable[Joint]) -> None:
    Joint.objects.filter(pk__in=[joint.pk for joint in there]).update(state=JointState.UNDONE.value)


def _make(ends: Sequence[tuple[PlanPosition, CellEnd]], one: StripJoined, plan: Plan, by: User, at: datetime) -> None:
    for count, (position, end) in enumerate(ends):
        for joint in [JointState.FAILED] * (count < one.failed) + [JointState.MADE]:
            save(
                Joint(
                    position=position,
                    end=end.value,
                    strip=one.strip,
                    method=plan.joint_method,
                    spots=one.spots,
                    state=joint.value,
                    made_at=at,
                    made_by=by,
                )
            )
