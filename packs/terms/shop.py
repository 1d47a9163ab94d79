"""Who works here, and which papers the shop issues."""

from packs.terms.term import Term


class Role(Term):
    """What a person may do in the workshop; one person may hold several."""

    COUNTER = "counter", "counter"
    TECHNICIAN = "technician", "technician"
    LEAD = "lead", "lead"
    OWNER = "owner", "owner"


class InMobility(Term):
    """Whether the rules of a place let reclaimed cells into powered mobility, such as electric bicycles."""

    ALLOWED = "allowed", "allowed here"
    FORBIDDEN = "forbidden", "forbidden here"
    UNKNOWN = "unknown", "not known yet"


class DocumentKind(Term):
    """Papers the shop issues."""

    JOB_CARD = "job_card", "job card"
    TEST_REPORT = "test_report", "test report"
    DISPOSAL_NOTE = "disposal_note", "disposal note"
    HAND_OVER = "hand_over", "hand-over receipt"
    HEALTH_REPORT = "health_report", "health report"
    CONTAINER_LABEL = "container_label", "container label"
    QUOTE = "quote", "quote"
    PACK_LABEL = "pack_label", "pack label"
