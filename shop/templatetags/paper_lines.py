"""Lines of a paper that are set as running text: every box of its own costs the library that lays papers out dearly."""

from unicodedata import east_asian_width

from django import template

from shop.bridge.documents import Group, Section, Slots

register = template.Library()

NBSP, FIGURE_SPACE, LINE = "\N{NO-BREAK SPACE}", "\N{FIGURE SPACE}", "_"
BETWEEN = f"{NBSP}{NBSP} "
FEW_ROWS = 3
ROOM = {1: 7, 2: 6, 3: 5}
"""Signs of blank line for a value, by how many a row takes; fewer for more."""

NAME_ROOM = 30
MOST_WRITTEN = 120
"""More readings than this at one step go into the book as they are taken; common practice, no source."""

FEW_SIGNS, SIGNS_ACROSS = 46, 104
"""Signs of codes to a line where two columns stand side by side, and across a page."""


@register.filter
def slot_lines(slots: tuple[Slots, ...]) -> list[str]:
    """Write the places for readings of a step; short ones share a line."""
    lines: list[str] = []
    was_short = False
    for one in slots:
        text, short = _text(one), len(one.rows) <= FEW_ROWS
        if short and was_short:
            lines[-1] += BETWEEN + text
        else:
            lines.append(text)
        was_short = short
    return lines


def _text(slots: Slots) -> str:
    """Write places for readings, each held together, so that they fill the line and stand below each other."""
    if len(slots.rows) > MOST_WRITTEN:
        return f"{len(slots.rows)} readings: into the book as they are taken, each under its label."
    longest = max(map(len, slots.rows))
    room = ROOM.get(len(slots.blanks), 5)
    return BETWEEN.join(
        _slot(row.rjust(longest, FIGURE_SPACE) if row[-1:].isdigit() else row, slots, room) for row in slots.rows
    )


def _slot(row: str, slots: Slots, room: int) -> str:
    parts = [row]
    for blank in slots.blanks:
        named = blank.unit == "name"
        line = LINE * (NAME_ROOM if named else room)
        parts += [part for part in (blank.label, line, "" if named else blank.unit) if part]
    return NBSP.join(parts).replace(" ", NBSP)


@register.filter
def first_word(sentence: str) -> str:
    """Return the first word, which stays beside its square."""
    return sentence.partition(" ")[0]


@register.filter
def after_first_word(sentence: str) -> str:
    """Return what follows the first word, with the blank before it."""
    return sentence[len(first_word(sentence)) :]


@register.filter
def side_by_side(groups: tuple[Group, ...]) -> bool:
    """Whether the codes of every group are so short that two groups have room beside each other."""
    return all(sum(wide(cell.code) + 2 for cell in group.cells) <= FEW_SIGNS for group in groups)


@register.filter
def codes_of(group: Group) -> str:
    """Return the codes of a group, in the order of their places, each held together."""
    return f"{NBSP} ".join(held(cell.code) for cell in group.cells)


@register.filter
def aligned(section: Section) -> str:
    """Write the codes of a section below each other, by tabs; nothing where they are too long for that."""
    columns = len(section.header)
    widest = max((wide(code) for row in section.rows for code in row), default=0)
    if (widest + 2) * columns > SIGNS_ACROSS:
        return ""
    return "\n".join("\t".join(row) for row in (section.header, *section.rows))


@register.filter
def run_on(section: Section) -> str:
    """Write the codes of a section row by row, where they are too long to stand below each other."""
    return "\n".join(" · ".join(held(code) for code in row if code) for row in section.rows)


def held(code: str) -> str:
    """Return a code that no line breaks within where it has blanks."""
    return code.replace(" ", NBSP)


def wide(code: str) -> int:
    """Return how many Latin signs a code is as wide as."""
    return sum(2 if east_asian_width(sign) in "WF" else 1 for sign in code)
