"""A half-filled form that waits in the session while its person fetches something it lacks."""

from django.http import HttpRequest

NOT_TYPED = {"csrfmiddlewaretoken", "form_token", "version"}


def keep(request: HttpRequest, *, but: str) -> None:
    """Keep what was typed on this page; ``but`` is the button that was pressed."""
    left_out = NOT_TYPED | {but}
    typed = {name: texts for name, texts in request.POST.lists() if name not in left_out}
    request.session[_key(request)] = {name: texts if len(texts) > 1 else texts[0] for name, texts in typed.items()}


def kept(request: HttpRequest) -> dict[str, str | list[str]]:
    """Return what was typed on this page before, or nothing; of several ticks under one name, every one."""
    draft: dict[str, str | list[str]] = request.session.get(_key(request), {})
    return draft


def add(request: HttpRequest, path: str, name: str, value: object) -> None:
    """Put what was fetched into the form that waits for it on another page, if one does."""
    if draft := request.session.get(f"draft {path}"):
        request.session[f"draft {path}"] = {**draft, name: str(value)}


def drop(request: HttpRequest) -> None:
    """Forget what was typed: it is saved."""
    request.session.pop(_key(request), None)


def _key(request: HttpRequest) -> str:
    return f"draft {request.path}"
