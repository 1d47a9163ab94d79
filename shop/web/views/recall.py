"""Recall: what a lot, a cell, a welder or a meter touched, on one page and as a list; and what went into a pack."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.core.paginator import Paginator
from django.db.models import Q
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import path, reverse

from shop.models import Cell, Instrument, Job, Lot
from shop.selectors import recall as told
from shop.selectors.recall import Touched
from shop.web.http import page, show

PACKS_A_PAGE = 50


@dataclass(frozen=True)
class Subject:
    """What is asked for: its words, its own page, the packs it touched, and where its cells are that are in none."""

    words: str
    address: str
    packs: Callable[[], list[Touched]]
    cells: Q | None = None


@page()
def recall(request: HttpRequest) -> HttpResponse:
    """Where to begin: a code as it stands on a label, a welder, or a meter."""
    words = request.GET.get("q", "").strip()[:60]
    if words and (address := _found(words)):
        return redirect(address)
    return show(
        request,
        "recall/index.html",
        section="stock",
        words=words,
        welders=[(machine, setting, count, _welder(machine, setting)) for machine, setting, count in told.welders()],
        chargers=[(name, count, _of("charger", name)) for name, count in told.chargers()],
        meters=[(meter, f"{reverse('recall_of')}?{urlencode({'meter': meter.pk})}") for meter in _meters()],
    )


@page()
def recall_of(request: HttpRequest) -> HttpResponse:
    """Every pack and customer that something touched."""
    subject = _subject(request)
    packs = subject.packs()
    found = Paginator(packs, PACKS_A_PAGE).get_page(request.GET.get("page"))
    return show(
        request,
        "recall/page.html",
        section="stock",
        subject=subject,
        page=found,
        customers=len({(pack.customer, pack.phone) for pack in packs}),
        elsewhere=told.elsewhere(subject.cells) if subject.cells else [],
        csv=f"{reverse('recall_list')}?{request.GET.urlencode()}",
    )


@page()
def recall_list(request: HttpRequest) -> HttpResponse:
    """The same as a file, to call by."""
    answer = HttpResponse("\ufeff" + told.as_csv(_subject(request).packs()), content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = 'attachment; filename="recall.csv"'
    return answer


@page()
def went_in(request: HttpRequest, number: int) -> HttpResponse:
    """The way back: lots, welders and meters of one pack."""
    job = get_object_or_404(Job.objects.with_device(), number=number)
    inside = told.into(job)
    return show(
        request,
        "recall/pack.html",
        section="stock",
        job=job,
        lots=[(lot, count, _of("lot", lot.code)) for lot, count in inside.lots],
        welded=[(machine, setting, _welder(machine, setting)) for machine, setting in inside.welded],
        meters=[(meter, _of("meter", meter.pk)) for meter in inside.meters],
    )


def _subject(request: HttpRequest) -> Subject:
    asked = request.GET
    if code := asked.get("lot"):
        lot = get_object_or_404(Lot, code=code)
        return Subject(f"lot {lot}", reverse("lot", args=[lot.code]), lambda: told.by_cells(Q(lot=lot)), Q(lot=lot))
    if code := asked.get("cell"):
        cell = get_object_or_404(Cell, code=code)
        address = reverse("cell", args=[cell.code])
        return Subject(f"cell {cell}", address, lambda: told.by_cells(Q(pk=cell.pk)), Q(pk=cell.pk))
    if (key := asked.get("meter", "")).isdecimal():
        meter = get_object_or_404(Instrument, pk=key)
        return Subject(f"meter {meter}", "", lambda: told.by_meter(meter))
    if machine := asked.get("welder"):
        setting = asked.get("setting", "")
        words = f"welder {machine}" + (f", set to {setting}" if setting else "")
        return Subject(words, _of("welder", machine) if setting else "", lambda: told.by_welder(machine, setting))
    if name := asked.get("charger"):
        return Subject(f"charger {name}", "", lambda: told.by_charger(name))
    raise Http404


def _of(kind: str, key: Any, **more: str) -> str:
    return f"{reverse('recall_of')}?{urlencode({kind: key} | more)}"


def _welder(machine: str, setting: str) -> str:
    return _of("welder", machine, setting=setting)


def _meters() -> list[Instrument]:
    return list(Instrument.objects.all())


def _found(words: str) -> str:
    """Return where a code leads: a lot, a cell, or a job by its number."""
    if lot := Lot.objects.filter(code__iexact=words).first():
        return _of("lot", lot.code)
    if cell := Cell.objects.coded(words):
        return _of("cell", cell.code)
    number = words.upper().removeprefix("J")
    if number.isdecimal() and len(number) < 10 and Job.objects.filter(number=int(number)).exists():
        return reverse("went_in", args=[int(number)])
    return ""


urlpatterns = [
    path("recall/", recall, name="recall"),
    path("recall/of/", recall_of, name="recall_of"),
    path("recall/list.csv", recall_list, name="recall_list"),
    path("recall/packs/<int:number>/", went_in, name="went_in"),
]
