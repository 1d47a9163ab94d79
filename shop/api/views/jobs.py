"""Operations on jobs: one address per operation, made from one table."""

import inspect
from collections.abc import Callable
from typing import Any, NamedTuple

from django.shortcuts import get_object_or_404
from django.urls import path
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import status
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from packs.terms import Measure, Stage
from packs.units import to
from shop.api.given import read
from shop.api.once import answer_once, person
from shop.api.rows import REFUSALS
from shop.api.serializers import answers, jobs
from shop.api.serializers import channels as jobs_channels
from shop.api.serializers import details as jobs_details
from shop.api.serializers import faults as jobs_faults
from shop.api.serializers import histories as jobs_histories
from shop.api.serializers import limits as jobs_limits
from shop.api.serializers import pack_notes as jobs_notes
from shop.api.serializers import photographs as jobs_photographs
from shop.api.serializers import quotes as jobs_quotes
from shop.bridge import matching
from shop.errors import ShopError
from shop.models import Cell, IssuedDocument, Job, PackAsFound, Quote, StepOutcome, WrittenException
from shop.operations import (
    breached,
    channels,
    closeout,
    completing,
    details,
    disposal,
    documents,
    examination,
    exceptions,
    fault_finding,
    for_stock,
    giving_up,
    health,
    histories,
    intake,
    opening_pack,
    pack_notes,
    parking,
    photographs,
    planning,
    proving,
    quoting,
    rebuild,
    replacing,
    welding,
)
from shop.operations.steps import StepResult
from shop.selectors import sheet


class Verb(NamedTuple):
    """One operation on a job: its address, the operation, and what it takes."""

    name: str
    call: Callable[..., Any]
    takes: type[Any]


VERBS = (
    Verb("clear", intake.clear_amber, jobs.Findings),
    Verb("condemn", intake.condemn, jobs.Findings),
    Verb("complete-intake", completing.complete_intake, jobs.MoreKnown),
    Verb("report-danger", intake.report_danger, jobs.Signs),
    Verb("decline", intake.decline, jobs.Reason),
    Verb("examine", examination.examine, jobs.AsFound),
    Verb("pack-details", details.describe, jobs_details.DetailsIn),
    Verb("promise", channels.promise, jobs_channels.PromiseIn),
    Verb("facility-order", histories.state_order, jobs_histories.FacilityOrderIn),
    Verb("withdraw-photograph", photographs.withdraw_photograph, jobs_photographs.WithdrawPhotographIn),
    Verb("fault-pack", fault_finding.state_pack, jobs_faults.FaultPack),
    Verb("probes", fault_finding.record_probes, jobs_faults.Probes),
    Verb("search-anew", fault_finding.search_anew, jobs_faults.Anew),
    Verb("take-back-probe", fault_finding.take_back_probe, jobs_faults.TakeBack),
    Verb("write-exception", exceptions.write_exception, jobs_limits.ExceptionIn),
    Verb("withdraw-exception", exceptions.withdraw_exception, jobs_limits.WithdrawIn),
    Verb("pack-test", health.record_pack_test, jobs.PackTest),
    Verb("pack-notes", pack_notes.write_notes, jobs_notes.NotesIn),
    Verb("labour-time", pack_notes.note_time, jobs_notes.TimeIn),
    Verb("quote", quoting.issue_quote, jobs_quotes.QuoteIn),
    Verb("approve-quote", quoting.approve_quote, jobs_quotes.AnswerIn),
    Verb("decline-quote", quoting.decline_quote, jobs_quotes.AnswerIn),
    Verb("target", planning.state_target, jobs.TargetPack),
    Verb("accept", planning.accept, jobs.Groups),
    Verb("release", planning.release, jobs.Reason),
    Verb("give-up", giving_up.give_up, jobs.GiveUp),
    Verb("prepare-dismantling", opening_pack.prepare_dismantling, jobs.BeforeCutting),
    Verb("breached-cell", breached.replace_breached, jobs.Breached),
    Verb("replace-cell", replacing.replace_cell, jobs.Replaced),
    Verb("park", parking.park, jobs.Park),
    Verb("resume", parking.resume, jobs.Resume),
    Verb("removed-cells", rebuild.record_removed, jobs.RemovedCells),
    Verb("finish-dismantling", rebuild.finish_dismantling, jobs.NothingMore),
    Verb("place-cell", rebuild.place_cell, jobs.Code),
    Verb("rest-voltages", rebuild.measure_before_joining, jobs.RestVoltages),
    Verb("peel-samples", welding.record_samples, jobs.PeelSamples),
    Verb("join", rebuild.join, jobs.Joints),
    Verb("taps", rebuild.check_taps, jobs.Taps),
    Verb("housing", proving.close_housing, jobs.Housing),
    Verb("first-charge", proving.first_charge, jobs.FirstCharge),
    Verb("final-test", proving.final_test, jobs.FinalTest),
    Verb("to-stock", disposal.to_stock, jobs.CellsIn),
    Verb("to-customer", disposal.to_customer, jobs.ToCustomer),
    Verb("to-container", disposal.to_container, jobs.IntoContainer),
    Verb("emergency-route", disposal.to_emergency_route, jobs.EmergencyRoute),
    Verb("waste-items", disposal.add_item, jobs.WasteItem),
    Verb("finish-removed", disposal.finish_removed, jobs.NothingMore),
    Verb("documents", documents.issue, jobs.Issue),
    Verb("into-stock", for_stock.into_stock, jobs.NothingMore),
    Verb("hand-over", closeout.hand_over, jobs.ReceivedBy),
)


class JobVerb(APIView):
    """One operation on a job."""

    verb: Verb

    def post(self, request: Request, number: int) -> Response:
        """Run the operation and answer with the job as it is then."""
        job = get_object_or_404(Job, number=number)
        values = read(self.verb.takes, request.data)

        def do() -> tuple[dict[str, Any], int]:
            require_version(job, self.verb, values)
            return answer(job, self.verb.call(job=job, by=person(request), **values)), status.HTTP_200_OK

        return answer_once(request, do)


def require_version(job: Job, verb: Verb, values: dict[str, Any]) -> None:
    """Where a cell was replaced and steps are done anew, a request says for which state of the job it was made.

    Else an old one, sent again with another key, would stand for what nobody measured since.
    """
    asked = "version" in verb.takes().fields and values.get("version") is None
    if asked and job.steps.filter(outcome=StepOutcome.GIVEN_UP.value).exists():
        raise ShopError(
            "version_missing",
            f"Steps of job {job.code} were given up and are done anew: send the version of the job that you have read.",
            field="version",
            version=job.version,
        )


def answer(job: Job, result: Any) -> dict[str, Any]:
    """Return the job as it is after an operation, and what came of the operation."""
    job = Job.objects.with_device().get(pk=job.pk)
    told: dict[str, Any] = {"job": answers.JobOut(job).data}
    if isinstance(result, StepResult):
        told |= {"done": result.done, "findings": result.step.findings}
    if isinstance(result, PackAsFound):
        told["findings"] = job.steps.get(stage=Stage.EXAMINE.value).findings
    if isinstance(result, IssuedDocument | Quote):
        told["created"] = [result.code]
    if isinstance(result, WrittenException):
        told["created"] = [str(result.pk)]
    if isinstance(result, list) and all(isinstance(row, Cell) for row in result):
        told["created"] = [cell.code for cell in result]
    return told


def _view(verb: Verb) -> type[JobVerb]:
    name = verb.name.title().replace("-", "")
    view = type(name, (JobVerb,), {"verb": verb, "__doc__": verb.call.__doc__})
    schema = extend_schema(
        operation_id=f"job_{verb.name.replace('-', '_')}",
        description=inspect.getdoc(verb.call),
        request=verb.takes,
        responses={200: answers.JobAnswer, **REFUSALS},
    )
    return extend_schema_view(post=schema)(view)


class Proposal(APIView):
    """Groups for a job's target pack."""

    @extend_schema(
        parameters=[jobs.MatchingLimits], responses={200: answers.ProposalOut, **REFUSALS}, operation_id="job_proposal"
    )
    def get(self, request: Request, number: int) -> Response:
        """Propose groups from stock whose weakest holds the most; nothing is reserved by it."""
        limits = jobs.MatchingLimits(data=request.query_params)
        limits.is_valid(raise_exception=True)
        job = get_object_or_404(Job, number=number)
        plan = sheet.standing_plan(job)
        if plan is None:
            raise ShopError("no_plan", f"Job {job.code} has no target pack yet.", job=job.code)
        return Response(
            answers.ProposalOut(_told(matching.propose(plan, matching.Limits(**limits.validated_data)))).data
        )


def _told(pack: matching.MatchedPack) -> dict[str, Any]:
    return {
        "groups": [
            {"number": group.number, "cells": group.codes, "capacity_mah": to(Measure.CAPACITY, group.capacity)}
            for group in pack.groups
        ],
        "weakest_mah": to(Measure.CAPACITY, pack.weakest),
        "spread_mah": to(Measure.CAPACITY, pack.spread),
        "bound_mah": to(Measure.CAPACITY, pack.bound),
        "considered": pack.considered,
        "left_out": [one.code for one in pack.excluded],
    }


urlpatterns = [
    path("jobs/<int:number>/proposal/", Proposal.as_view(), name="api-proposal"),
    *(path(f"jobs/<int:number>/{verb.name}/", _view(verb).as_view(), name=f"job-{verb.name}") for verb in VERBS),
]
