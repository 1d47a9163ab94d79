"""Propose a column layout from a file, for a person to look over."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from packs.traces.columns import REQUIRED, Column, ColumnLayout, CurrentSign, Role
from packs.traces.dialect import dialect_of
from packs.traces.headings import DEFAULT_UNITS, Heading, heading
from packs.traces.problems import Problem, Remark, TraceRefused, Verdict
from packs.traces.scales import KINDS, scale_of

# Machine names and labels of the open format fix the sign; it is never guessed there.
OPEN_FORMAT = (
    {"test_time_second", "Test Time / s"},
    {"voltage_volt", "Voltage / V"},
    {"current_ampere", "Current / A"},
)
NAME_OF_OPEN_FORMAT = "Battery Data Format"
# Where several columns fit one role, the word that says it best goes first.
BETTER = ("unix", "total", "test", "surface", "step id", "step_id", "cumulative")


@dataclass(frozen=True)
class Proposal:
    """A layout found in a file, and what a person should know about it."""

    layout: ColumnLayout
    remarks: tuple[Remark, ...]
    names: tuple[str, ...]


def propose_text(lines: Sequence[str], encoding: str) -> Proposal:
    """Propose a layout from the first lines of a text file.

    Series to come: time [s], current [A], voltage [V].

    Raises
    ------
    TraceRefused
        There is no table, no names, or time, current or voltage is missing or claimed twice.

    References
    ----------
    Battery Data Format, names and units; other names are common practice, no source.
    """
    dialect = dialect_of(list(lines))
    if not dialect.names:
        raise TraceRefused(Problem.HEADER_MISSING, f"{dialect.width} columns")
    columns, remarks = propose_columns(dialect.names)
    layout = ColumnLayout(
        name=name_for(dialect.names),
        columns=columns,
        delimiter=dialect.delimiter,
        decimal=dialect.decimal,
        encoding=encoding,
        lines_before=dialect.lines_before,
        header_lines=dialect.header_lines,
        sign=sign_for(dialect.names),
    )
    return Proposal(layout, remarks, dialect.names)


def name_for(names: Sequence[str]) -> str:
    """Name a proposed layout.

    References
    ----------
    Battery Data Format, required quantities.
    """
    return NAME_OF_OPEN_FORMAT if is_open_format(names) else "proposed from the file"


def sign_for(names: Sequence[str]) -> CurrentSign:
    """Return how the current is counted where the format fixes it.

    References
    ----------
    Battery Data Format: charge counts positive.
    """
    return CurrentSign.CHARGE_POSITIVE if is_open_format(names) else CurrentSign.FIND


def is_open_format(names: Sequence[str]) -> bool:
    """Tell whether the three required columns stand there in either notation, also mixed.

    References
    ----------
    Battery Data Format, required quantities in label and machine notation.
    """
    given = {name.strip() for name in names}
    return all(notations & given for notations in OPEN_FORMAT)


def propose_columns(names: Sequence[str]) -> tuple[tuple[Column, ...], tuple[Remark, ...]]:
    """Give each name its role and unit.

    Raises
    ------
    TraceRefused
        As ``propose_text``; also a unit that is unknown or belongs to another quantity.

    References
    ----------
    Battery Data Format, names and units; other names are common practice, no source.
    """
    read = [heading(name) for name in names]
    roles = _step_time_beside_total(names, [each.role for each in read])
    chosen = {role: _best(role, names, roles) for role in Role if role in roles}
    remarks: list[Remark] = []
    columns = []
    for role, place in chosen.items():
        source = names[place] if names.count(names[place]) == 1 else place + 1
        unit = _unit(names[place], role, read[place], remarks)
        if unit is not None:
            columns.append(Column(role, source, unit))
    require(set(chosen))
    return tuple(columns), tuple(remarks)


def _step_time_beside_total(names: Sequence[str], roles: list[Role | None]) -> list[Role | None]:
    """Plain "time" beside "total time" or "test time" is the time within the step."""
    plain = [place for place, name in enumerate(names) if roles[place] is Role.TIME and _plain(name) == "time"]
    if roles.count(Role.TIME) > len(plain) and Role.STEP_TIME not in roles:
        for place in plain:
            roles[place] = Role.STEP_TIME
    return roles


def _plain(name: str) -> str:
    return name.split("(")[0].split("/")[0].split("[")[0].strip().lower()


def _best(role: Role, names: Sequence[str], roles: Sequence[Role | None]) -> int:
    places = [place for place, each in enumerate(roles) if each is role]
    if len(places) > 1 and role in REQUIRED:
        raise TraceRefused(Problem.COLUMN_TWICE, " and ".join(names[place] for place in places))
    return min(places, key=lambda place: (_rank(names[place]), place))


def _rank(name: str) -> int:
    return next((rank for rank, word in enumerate(BETTER) if word in name.lower()), len(BETTER))


def _unit(name: str, role: Role, read: Heading, remarks: list[Remark]) -> str | None:
    """The unit of a column; ``None`` leaves out a column that is not needed and whose unit makes no sense."""
    unit = read.unit
    if read.old:
        remarks.append(Remark(Problem.OLD_COLUMN_NAME, Verdict.WARNED, f"{name}, read as {role.label}"))
    if role not in DEFAULT_UNITS:
        return unit or ""
    if unit is None or unit == "?":
        remarks.append(
            Remark(Problem.UNIT_ASSUMED, Verdict.WARNED, f"{name} was read as {role.label} in {DEFAULT_UNITS[role]}")
        )
        return DEFAULT_UNITS[role]
    problem = _wrong_unit(unit, role)
    if problem is None:
        return unit
    detail = f"{unit} in {name}, which reads as {role.label}"
    if role in REQUIRED:
        raise TraceRefused(problem, detail)
    remarks.append(Remark(problem, Verdict.WARNED, f"{detail}; the column was left out"))
    return None


def _wrong_unit(unit: str, role: Role) -> Problem | None:
    scale = scale_of(unit)
    if scale is None:
        return Problem.UNIT_UNKNOWN
    return None if scale.kind == KINDS[role] else Problem.UNIT_OF_ANOTHER_KIND


def require(roles: Collection[Role]) -> None:
    """Refuse a layout without time, current and voltage: nothing can be worked out from the others.

    Time [s], current [A], voltage [V].

    References
    ----------
    Battery Data Format, required quantities.
    """
    roles = set(roles)
    if not roles & {Role.TIME, Role.CLOCK, Role.STEP_TIME}:
        raise TraceRefused(Problem.TIME_MISSING)
    if Role.CURRENT not in roles:
        raise TraceRefused(Problem.CURRENT_MISSING)
    if Role.VOLTAGE not in roles:
        raise TraceRefused(Problem.VOLTAGE_MISSING)
