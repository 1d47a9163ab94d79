"""A step that is not next: what was found in it, and what somebody typed for it that came too late."""

import re
from collections.abc import Iterator

from django.contrib import messages
from django.http import HttpRequest, HttpResponse

from packs.terms import Condition, Stage
from shop.models import Instrument, Job
from shop.operations.health import may_add
from shop.selectors import sheet, tries
from shop.web.http import person, show
from shop.web.stepping import action_url, frozen, outline

NOT_TYPED = frozenset({"csrfmiddlewaretoken", "form_token", "version"})
NUMBERED = {
    "tap": "Tap {}",
    "group": "Group {}",
    "minutes": "Look {}, minutes",
    "pack": "Look {}, pack",
    "current": "Look {}, current",
    "hottest": "Look {}, hottest spot",
    "spots": "Strip {}, spots per joint",
    "failed": "Strip {}, joints made again",
    "torque": "Strip {}, torque",
    "contact": "Strip {}, worst contact",
}
"""What the numbered fields of the steps are called; whatever stands after the word is the number."""

CALLED = {
    "rest_voltage": "Voltage at its ends",
    "not_measured": "Not measured",
    "condition": "What it looks like",
    "count": "How many alike",
    "code": "Code of the cell",
    "instrument": "Meter",
    "charger_voltage": "Charger, no load",
    "supervised_by": "Who stays beside it",
    "capacity": "Capacity delivered",
    "resistance": "DC resistance",
    "pack_rest": "Pack at rest",
    "outlet": "Outlet under load",
    "conditions": "At which current, down to what, how warm",
    "peel_sample_held": "Today's peel sample held",
    "clean_faces": "Faces cleaned bright",
    "second_look": "Looked at a second time",
    "method": "How the resistance was measured",
}
STRIP = re.compile(r"(?:spots|failed|torque|contact)_(\d+)")


def told(request: HttpRequest, job: Job, stage: Stage) -> HttpResponse:
    """Show what there is of a step that is not next; nothing that was sent for it is dropped without a word."""
    if request.method == "POST":
        messages.error(request, f"Nothing was recorded: “{job.label_of(stage)}” is not what comes next on this job.")
    stopped = frozen(request, job)
    action = None if stopped["frozen_by"] else sheet.next_action(job)
    earlier = tries.of_stage(job, stage)
    counting = earlier.pop() if earlier and earlier[-1].step.done else None
    return show(
        request,
        "steps/told.html",
        job=job,
        stage=stage,
        counting=counting,
        earlier=earlier,
        outline=outline(job),
        **stopped,
        unsent=list(_unsent(request)),
        may_add=stage is Stage.TEST_PACK and may_add(job),
        action=action if action and person(request).holds(*action.roles) else None,
        action_url=action_url(job, action) if action else "",
        status=409 if request.method == "POST" else 200,
    )


def _unsent(request: HttpRequest) -> Iterator[tuple[str, str]]:
    """Yield what was typed into a form that came too late, in the words of the form, so that it can be read and copied.

    Of strips only those that were ticked: the others came with what stood there already.
    """
    for name, texts in request.POST.lists():
        text = ", ".join(str(each).strip() for each in texts)
        strip = STRIP.fullmatch(name)
        if name in NOT_TYPED or not text or (strip and f"done_{strip[1]}" not in request.POST):
            continue
        yield _called(name), _worded(name, text)


def _called(name: str) -> str:
    if name in CALLED:
        return CALLED[name]
    word, _, number = name.partition("_")
    if word == "v":
        return f"Position {number.replace('_', '.')}"
    if word == "done":
        return f"Strip {number}"
    if word in NUMBERED and number.isdecimal():
        return NUMBERED[word].format(number)
    return name.rpartition(".")[2].replace("_", " ").capitalize()


def _worded(name: str, text: str) -> str:
    if text == "on":
        return "on" if name.startswith("done_") else "yes"
    if name == "instrument":
        meter = Instrument.objects.filter(pk=text).first() if text.isdecimal() else None
        return str(meter or text)
    if name == "condition" and text in {one.value for one in Condition}:
        return Condition(text).label
    return text
