"""The test bench: channels, check cells, and the queue of cells that are to be tested."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from shop.api.once import person
from shop.api.rows import REFUSALS, New
from shop.api.serializers import channels as told
from shop.operations import channels


class Queued(serializers.Serializer[Any]):
    """The tests that wait now."""

    runs = told.RunOut(many=True)


class Channels(New):
    """Channels of testers."""

    takes = told.ChannelIn

    @extend_schema(request=told.ChannelIn, responses={201: told.ChannelOut, **REFUSALS})
    def post(self, request: Request) -> Response:
        """Add a channel of a tester."""
        return self.take(request)

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return what came of it."""
        return dict(told.ChannelOut(channels.add_channel(by=person(request), **values)).data)


class CheckCells(New):
    """Cells that channels are checked with."""

    takes = told.CheckCellIn

    @extend_schema(request=told.CheckCellIn, responses={201: told.CheckCellOut, **REFUSALS})
    def post(self, request: Request) -> Response:
        """Keep a check cell, or state anew what is known of it."""
        return self.take(request)

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return what came of it."""
        return dict(told.CheckCellOut(channels.keep_check_cell(by=person(request), **values)).data)


class CheckReadings(New):
    """What channels read of check cells."""

    takes = told.CheckReadingIn

    @extend_schema(request=told.CheckReadingIn, responses={201: told.CheckReadingOut, **REFUSALS})
    def post(self, request: Request) -> Response:
        """Write down what a channel read of a check cell."""
        return self.take(request)

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return what came of it."""
        return dict(told.CheckReadingOut(channels.read_check_cell(by=person(request), **values)).data)


class Begin(New):
    """Cells that go into a channel."""

    takes = told.BeginIn

    @extend_schema(request=told.BeginIn, responses={201: told.RunOut, **REFUSALS})
    def post(self, request: Request) -> Response:
        """Put the cell of a test that waits into a channel."""
        return self.take(request)

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return what came of it."""
        return dict(told.RunOut(channels.begin_run(by=person(request), **values)).data)


class End(New):
    """Tests that are over."""

    takes = told.EndIn

    @extend_schema(request=told.EndIn, responses={201: told.RunOut, **REFUSALS})
    def post(self, request: Request) -> Response:
        """End the test of a cell."""
        return self.take(request)

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return what came of it."""
        return dict(told.RunOut(channels.end_run(by=person(request), **values)).data)


class Queue(New):
    """Cells that are to be tested."""

    takes = told.QueueIn

    @extend_schema(request=told.QueueIn, responses={201: Queued, **REFUSALS})
    def post(self, request: Request) -> Response:
        """Let cells wait for a channel."""
        return self.take(request)

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return the tests that wait."""
        return {"runs": told.RunOut(channels.queue_cells(by=person(request), **values), many=True).data}
