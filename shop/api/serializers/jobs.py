"""What the operations on a job take."""

from decimal import Decimal
from typing import Any

from rest_framework import serializers

from packs.terms import (
    CellEnd,
    ChargerRead,
    Chemistry,
    Condition,
    DangerSign,
    DeviceClass,
    DocumentKind,
    FeeState,
    JobKind,
    JointMethod,
    Owner,
    Packing,
    Peeled,
    Port,
    Protects,
    Specimen,
    StripMaterial,
    Travels,
    Unpowered,
)
from shop.bridge import possible
from shop.bridge.accepting import Shown
from shop.bridge.matching import Limits
from shop.bridge.rules import BoardTried, MadeAgain, RestHold, UnderLoad, Weld
from shop.models import CellModel, Container, CountBasis, Customer, Instrument, Item, ItemKind
from shop.operations.health import Discharge
from shop.operations.intake import Nameplate, Recall
from shop.operations.joints import StripJoined
from shop.operations.opening import CellCount, PackSize
from shop.operations.planning import Target
from shop.operations.proving import ChargeLine
from shop.operations.since import LONGEST

from .fields import GROUPS, CellCode, Named, Numbered, TermField, Versioned, number, sure, whole


class NameplateIn(serializers.Serializer[Any]):
    """What the device's nameplate says."""

    maker = serializers.CharField(max_length=80, required=False, allow_blank=True)
    model = serializers.CharField(max_length=80)
    serial = serializers.CharField(max_length=80, required=False, allow_blank=True)
    device_class = TermField(DeviceClass)
    rated_voltage_mv = whole(required=False)
    rated_capacity_mah = number(places=1, required=False, min_value=0)
    charger_voltage_mv = whole(required=False)
    chemistry = TermField(Chemistry, required=False)


class CountIn(serializers.Serializer[Any]):
    """How many cells are inside an unopened pack, and how well that is known."""

    cells = serializers.IntegerField(min_value=1, max_value=10_000, required=False, allow_null=True, default=None)
    basis = TermField(CountBasis, default=CountBasis.UNKNOWN)


class SizeIn(serializers.Serializer[Any]):
    """How much an unopened pack is; asked for where its place has a limit that counts it."""

    mass_mg = serializers.IntegerField(min_value=1, max_value=2_000_000_000, required=False)
    volume_mm3 = serializers.IntegerField(min_value=1, max_value=10_000_000_000, required=False)
    rated_energy_mwh = serializers.IntegerField(min_value=1, max_value=100_000_000, required=False)


class RecallIn(serializers.Serializer[Any]):
    """Where and when somebody looked for a recall, and what was found."""

    source = serializers.CharField(max_length=120, required=False, allow_blank=True)  # type: ignore[assignment]  # DRF has one of its own
    checked_on = serializers.DateField(required=False)
    result = serializers.CharField(max_length=200, required=False, allow_blank=True)
    recalled = serializers.BooleanField(default=False)


class TakeIn(serializers.Serializer[Any]):
    """A device that comes over the counter; whose the removed cells will be is needed where cells come out."""

    kind = TermField(JobKind, default=JobKind.REBUILD)

    customer_name = serializers.CharField(max_length=120)
    customer = Numbered(queryset=Customer.objects.all(), required=False)
    phone = serializers.CharField(max_length=40, required=False, allow_blank=True)
    email = serializers.EmailField(required=False, allow_blank=True)
    complaint = serializers.CharField(max_length=2000, required=False, allow_blank=True)
    nameplate = NameplateIn()
    signs = serializers.ListField(child=TermField(DangerSign), max_length=20)
    recall = RecallIn(required=False)
    removed_owner = TermField(Owner, required=False)
    count = CountIn(required=False)
    size = SizeIn(required=False)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Return what the operation takes."""
        if "size" in attrs:
            attrs["size"] = PackSize(**attrs["size"])
        if "count" in attrs:
            attrs["count"] = CellCount(**attrs["count"])
        attrs["nameplate"] = Nameplate(**attrs["nameplate"])
        if "recall" in attrs:
            attrs["recall"] = Recall(**attrs["recall"])
        return attrs


class Return(serializers.Serializer[Any]):
    """A pack rebuilt on a job comes back."""

    signs = serializers.ListField(child=TermField(DangerSign), max_length=20)
    complaint = serializers.CharField(max_length=2000, required=False, allow_blank=True)
    removed_owner = TermField(Owner)
    size = SizeIn(required=False)

    def validate_size(self, given: dict[str, int]) -> PackSize:
        """Return what the operation takes."""
        return PackSize(**given)


class ForStock(serializers.Serializer[Any]):
    """A pack that is built for stock."""

    model = serializers.CharField(max_length=80)
    device_class = TermField(DeviceClass)
    note = serializers.CharField(max_length=2000, required=False, allow_blank=True)


class GiveUp(Versioned):
    """Why a build is given up, which placed cells came to harm, and which of them may react."""

    reason = serializers.CharField(max_length=1000)
    damaged = serializers.ListField(child=serializers.CharField(max_length=40), required=False, max_length=2000)
    standing = TermField(Condition, required=False, help_text="Of a repair: what the groups that stayed look like.")
    reacting = serializers.ListField(child=serializers.CharField(max_length=40), required=False, max_length=2000)


class Findings(Versioned):
    """A lead's written findings."""

    findings = serializers.CharField(max_length=4000)


class MoreKnown(Versioned):
    """What was not known at the counter: how the customer is reached, what the nameplate says, the look for a recall."""

    serial = serializers.CharField(max_length=80, required=False, allow_blank=True)
    maker = serializers.CharField(max_length=80, required=False, allow_blank=True)
    rated_voltage_mv = whole(required=False)
    rated_capacity_mah = number(places=1, required=False, min_value=0)
    charger_voltage_mv = whole(required=False)
    chemistry = TermField(Chemistry, required=False)
    phone = serializers.CharField(max_length=40, required=False, allow_blank=True)
    email = serializers.EmailField(required=False, allow_blank=True)
    recall = RecallIn(required=False)
    reason = serializers.CharField(
        max_length=400,
        required=False,
        allow_blank=True,
        help_text="why voltages or capacity are corrected that were written down",
    )

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Return what the operation takes."""
        return attrs | ({"recall": Recall(**attrs["recall"])} if "recall" in attrs else {})


class Signs(Versioned):
    """Danger signs seen later; ``in_device`` where a new pack sits in its device."""

    signs = serializers.ListField(child=TermField(DangerSign), min_length=1, max_length=20)
    in_device = serializers.BooleanField(required=False)


class Reason(Versioned):
    """Why."""

    reason = serializers.CharField(max_length=1000)


class WithInstrument(Versioned):
    """Readings taken with one meter."""

    instrument = Named(slug_field="name", queryset=Instrument.objects.all(), required=False)


class WithPaper(WithInstrument):
    """Readings that may have stood on paper first: then with the time they were taken at."""

    measured_at = serializers.DateTimeField(required=False)


def since() -> serializers.CharField:
    """Return the field for what was found and done since a try that was stopped."""
    words = "What was found and done since the try before, or what was measured wrongly then; due after some stops."
    return serializers.CharField(max_length=LONGEST, required=False, allow_blank=True, help_text=words)


class AsFound(WithPaper):
    """The pack as found; how it is joined may be left out where it is only tested."""

    cell_model = Named(slug_field="name", queryset=CellModel.objects.all())
    series = serializers.IntegerField(min_value=1, max_value=possible.MOST_CELLS)
    parallel = serializers.IntegerField(min_value=1, max_value=possible.MOST_CELLS)
    counts = serializers.ListField(
        child=serializers.IntegerField(min_value=1, max_value=possible.MOST_CELLS),
        required=False,
        max_length=possible.MOST_CELLS,
        help_text="Cells of each group from the negative end, where they differ.",
    )
    joint_method = TermField(JointMethod, required=False)
    housing = serializers.CharField(max_length=160, required=False, allow_blank=True)
    board = serializers.CharField(max_length=200, required=False, allow_blank=True)
    protects = serializers.ListField(child=TermField(Protects), required=False, max_length=20)
    unpowered = TermField(Unpowered, required=False)
    note = serializers.CharField(max_length=4000, required=False, allow_blank=True)
    pack_voltage_mv = number(required=False)
    group_voltages_mv = serializers.ListField(child=number(), required=False, max_length=possible.MOST_CELLS)


LONGEST_NUMBER = 4
"""Digits of the number of a group."""


MOST_POINTS = 50
"""Points of a fuse's curve; more tell nothing new."""


def curve(what: str) -> serializers.ListField:
    """Return the field of a curve of a fuse."""
    point = serializers.ListField(child=whole(min_value=1), min_length=2, max_length=2)
    words = f"The {what}: pairs of mA and µs, such as [[20000, 5000000], [60000, 100000]]."
    return serializers.ListField(child=point, required=False, max_length=MOST_POINTS, help_text=words)


class TargetPack(Versioned):
    """The pack that is to be built."""

    cell_model = Named(slug_field="name", queryset=CellModel.objects.all())
    series = serializers.IntegerField(min_value=1, max_value=possible.MOST_CELLS)
    parallel = serializers.IntegerField(min_value=1, max_value=possible.MOST_CELLS)
    joint_method = TermField(JointMethod)
    strip_material = TermField(StripMaterial)
    strip_width_um = whole(min_value=1)
    strip_thickness_um = whole(min_value=1)
    packing = TermField(Packing, required=False)
    continuous_current_ma = whole()
    charger_voltage_mv = whole()
    charger_read = TermField(ChargerRead, required=False)
    charger_tolerance_mv = whole(required=False)
    board_groups = whole(required=False, min_value=1)
    board_chemistry = TermField(Chemistry, required=False, allow_blank=True)
    board_overcharge_mv = whole(required=False)
    board_tolerance_mv = whole(required=False)
    board_undervoltage_mv = whole(required=False)
    outlet_voltage_mv = whole(required=False)
    outlet_port = TermField(Port, required=False, allow_blank=True)
    dropout_mv = whole(required=False)
    peak_current_ma = whole(required=False)
    peak_time_ms = whole(required=False)
    strip_layers = whole(required=False)
    lead_area_um2 = whole(required=False)
    lead_length_um = whole(required=False)
    fuse_current_ma = whole(required=False)
    fuse_voltage_mv = whole(required=False)
    fuse_breaking_ma = whole(required=False)
    fuse_melting = curve("shortest times in which the fuse melts")
    fuse_clearing = curve("longest times in which the fuse clears")
    board_trip_ma = whole(required=False)
    board_trip_us = whole(required=False)
    replaced = serializers.ListField(
        child=serializers.IntegerField(), required=False, max_length=possible.MOST_CELLS, help_text=GROUPS
    )
    group_capacities_mah = serializers.DictField(
        child=number(places=1),
        required=False,
        help_text='Capacity of groups that stay, as far as somebody measured it, such as {"1": 4100}.',
    )

    group_resistances_uohm = serializers.DictField(
        child=number(places=1),
        required=False,
        help_text='DC resistance of groups that stay, as far as somebody measured it, such as {"1": 9800}.',
    )

    def validate_group_capacities_mah(self, given: dict[str, Decimal]) -> dict[int, Decimal]:
        """Return capacities by the number of their group."""
        return self._by_group(given)

    def validate_group_resistances_uohm(self, given: dict[str, Decimal]) -> dict[int, Decimal]:
        """Return resistances by the number of their group."""
        return self._by_group(given)

    @staticmethod
    def _by_group(given: dict[str, Decimal]) -> dict[int, Decimal]:
        if strange := [key for key in given if not (key.isascii() and key.isdigit()) or len(key) > LONGEST_NUMBER]:
            raise serializers.ValidationError(f"“{strange[0]}” is not the number of a group.")
        return {int(key): value for key, value in given.items()}

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Return what the operation takes."""
        version = attrs.pop("version", None)
        measured = {name: attrs.pop(name, {}) for name in ("group_capacities_mah", "group_resistances_uohm")}
        return {"target": Target(**attrs), **measured, "version": version}


class MatchingLimits(serializers.Serializer[Any]):
    """What a proposal must keep to: the window is a share of a group's mean capacity, the ratio largest over smallest."""

    min_capacity_mah = number(required=False, min_value=0)
    capacity_window = number(places=4, required=False, min_value=Decimal("0.0001"), max_value=1)
    max_resistance_ratio = number(places=4, required=False, min_value=1, max_value=1000)
    ocv_window_mv = number(places=1, required=False, min_value=0, max_value=5000)
    max_self_discharge_mv_per_day = number(places=3, required=False, min_value=0, max_value=5000)
    assured = serializers.BooleanField(
        required=False, help_text="What the pack gives in nineteen cases of twenty counts, not what the tests said."
    )
    known_history = serializers.BooleanField(required=False)
    allow_mixed_conditions = serializers.BooleanField(required=False)


class Groups(Versioned):
    """Cell codes, group by group from the negative end; of a repair those groups alone that are replaced."""

    groups = serializers.ListField(
        child=serializers.ListField(child=serializers.CharField(max_length=40), max_length=possible.MOST_CELLS),
        max_length=possible.MOST_CELLS,
    )
    limits = MatchingLimits(
        required=False, help_text="What the groups were asked to keep to, as for the proposal; kept with the plan."
    )

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Return what the operation takes: groups are accepted only while they keep the limits."""
        given = attrs.pop("limits", None)
        return attrs | ({} if given is None else {"shown": Shown(Limits(**given), {})})


class BeforeCutting(WithPaper):
    """What is confirmed before the old pack is cut, by rule; above 60 V DC who is qualified and who stands by."""

    confirmed = serializers.DictField(child=serializers.BooleanField(), default=dict)
    groups_mv = serializers.ListField(
        child=number(allow_null=True), max_length=possible.MOST_CELLS, required=False, default=list
    )
    qualified = serializers.CharField(max_length=80, required=False, allow_blank=True)
    second = serializers.CharField(max_length=80, required=False, allow_blank=True)


class RemovedCells(Versioned):
    """Cells leaving the old pack."""

    condition = TermField(Condition)
    rest_voltage_mv = number(required=False)
    count = serializers.IntegerField(min_value=1, max_value=2000, default=1)
    code = serializers.CharField(max_length=40, required=False, allow_blank=True)
    recorded = serializers.IntegerField(
        min_value=0,
        max_value=possible.MOST_CELLS,
        required=False,
        help_text="How many were in the book when this one was begun; refused where others came in since.",
    )
    sure = sure()


class Code(Versioned):
    """One cell code."""

    code = serializers.CharField(max_length=40)


class RestVoltages(WithPaper):
    """Rest voltage of each cell position, such as ``{"1.1": 3620}``, and of groups that stay: ``{"group 2": 3610}``."""

    rest_voltages_mv = serializers.DictField(child=number())
    equal_charge = serializers.BooleanField(required=False, allow_null=True, default=None)
    since = since()


class StripIn(serializers.Serializer[Any]):
    """One strip or bar that is on."""

    strip = serializers.IntegerField(min_value=1, max_value=500)
    spots = serializers.IntegerField(min_value=0, max_value=50, default=0)
    failed = serializers.IntegerField(min_value=0, max_value=500, default=0)
    torque_mnm = number(required=False)
    contact_uohm = number(required=False)


class WeldIn(serializers.Serializer[Any]):
    """What a welder is set to; the pulse as the machine counts it."""

    machine = serializers.CharField(max_length=60)
    schedule = serializers.CharField(max_length=60)
    pulse = number(places=2, min_value=Decimal("0.01"), max_value=Decimal(100_000))


class PeelSamples(Versioned):
    """What came of a sample at each pole, with one setting, on a discharged scrap can or steel as thick."""

    weld = WeldIn()
    specimen = TermField(Specimen)
    peeled = serializers.DictField(child=TermField(Peeled), help_text="by pole, positive or negative")

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Return what the operation takes."""
        if unknown := sorted(set(attrs["peeled"]) - set(CellEnd)):
            raise serializers.ValidationError({"peeled": f"No such pole: {', '.join(unknown)}."})
        peeled = {CellEnd(end): outcome for end, outcome in attrs["peeled"].items()}
        return attrs | {"weld": Weld(**attrs["weld"]), "peeled": peeled}


class MadeAgainIn(serializers.Serializer[Any]):
    """The most tries that a joint took, and whether each cooled before the next one."""

    tries = whole(required=False, allow_null=True, min_value=1)
    cooled = serializers.BooleanField(required=False, allow_null=True)


class Joints(Versioned):
    """Every strip that is on (one that is not named is off), what the welder is set to, and the second look.

    ``second_look_by`` names another person; without it the same one looked again after a pause. ``again`` is due where
    joints were made again.
    """

    strips = StripIn(many=True)
    weld = WeldIn(required=False)
    clean_faces = serializers.BooleanField(required=False)
    second_look = serializers.BooleanField()
    second_look_by = serializers.CharField(max_length=80, required=False, allow_blank=True)
    pause_min = whole(required=False)
    again = MadeAgainIn(required=False)
    measured_at = serializers.DateTimeField(required=False)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Return what the operation takes."""
        attrs["strips"] = [StripJoined(**strip) for strip in attrs["strips"]]
        if "again" in attrs:
            attrs["again"] = MadeAgain(**attrs["again"])
        return attrs | ({"weld": Weld(**attrs["weld"])} if "weld" in attrs else {})


class BoardIn(serializers.Serializer[Any]):
    """What the board did on a bench ladder before it was fitted, per group."""

    suits = serializers.BooleanField(required=False)
    overcharge_mv = number(required=False, allow_null=True)
    undervoltage_mv = number(required=False, allow_null=True)
    another = serializers.BooleanField(required=False)


class Taps(WithPaper):
    """Tap voltages in order from the negative end, and the board as it was tried."""

    taps_mv = serializers.ListField(child=number(allow_null=True), max_length=possible.MOST_CELLS)
    board = BoardIn(required=False)
    since = since()

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Return what the operation takes."""
        return attrs | ({"board": BoardTried(**attrs["board"])} if "board" in attrs else {})


class Housing(Versioned):
    """What was confirmed, by rule."""

    confirmed = serializers.DictField(child=serializers.BooleanField())
    metal = serializers.BooleanField(required=False)


class LookIn(serializers.Serializer[Any]):
    """One look at the pack during its first charge."""

    minutes = whole()
    pack_voltage_mv = number()
    current_ma = number()
    hottest_mdegc = number()


class FirstCharge(WithPaper):
    """The supervised first charge: looks from its start to its end, groups in the middle and at the end."""

    supervised_by = serializers.CharField(max_length=120)
    charger_voltage_mv = number()
    lines = LookIn(many=True)
    groups_mv = serializers.ListField(child=number(allow_null=True), max_length=possible.MOST_CELLS)
    mid_groups_mv = serializers.ListField(
        child=number(allow_null=True), max_length=possible.MOST_CELLS, required=False, default=list
    )
    stopped_because = serializers.CharField(max_length=200, required=False, allow_blank=True)
    ends_itself = serializers.BooleanField(required=False)
    charged_with = serializers.CharField(max_length=60, required=False, allow_blank=True)
    since = since()

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Return what the operation takes."""
        attrs["lines"] = [ChargeLine(**line) for line in attrs["lines"]]
        return attrs


MOST_CURVE_POINTS = 5000
"""Points of a measured discharge that are taken; about sixty of them are kept."""


class RestHoldIn(serializers.Serializer[Any]):
    """How long the pack rested, and what each group had at the end."""

    hours = number(min_value=0, max_value=10_000)
    groups_mv = serializers.ListField(child=number(allow_null=True), max_length=possible.MOST_CELLS)


class UnderLoadIn(serializers.Serializer[Any]):
    """What was read under a steady load, the pack 10 s after it was put on."""

    current_ma = number(required=False, allow_null=True)
    pack_mv = number(required=False, allow_null=True)
    joint_mv = number(required=False, allow_null=True, help_text="largest drop between a cell and its strip or bar")
    hottest_mdegc = number(required=False, allow_null=True)


class FinalTest(WithPaper):
    """What the finished pack gives, or that its capacity is only forecast."""

    capacity_mah = number(required=False, allow_null=True, default=None)
    pack_rest_mv = number(required=False, allow_null=True, default=None)
    groups_mv = serializers.ListField(child=number(allow_null=True), max_length=possible.MOST_CELLS)
    outlet_mv = number(required=False)
    conditions = serializers.CharField(max_length=120, required=False, allow_blank=True)
    sure = sure()
    hold = RestHoldIn(required=False)
    load = UnderLoadIn(required=False)
    discharge = serializers.ListField(
        child=serializers.ListField(child=number(min_value=0), min_length=2, max_length=2),
        required=False,
        max_length=MOST_CURVE_POINTS,
        help_text="The measured curve: pairs of charge drawn [mAh] and voltage of the pack [mV].",
    )
    insulation_kohm = number(required=False, allow_null=True)
    confirmed = serializers.DictField(child=serializers.BooleanField(), required=False)
    forecast_only = serializers.BooleanField(required=False)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Return what the operation takes."""
        kinds = {"hold": RestHold, "load": UnderLoad}
        return attrs | {name: kind(**attrs[name]) for name, kind in kinds.items() if name in attrs}


class DischargeIn(serializers.Serializer[Any]):
    """One discharge of the whole pack."""

    capacity_mah = number(required=False, allow_null=True)
    current_ma = number(required=False, allow_null=True)
    end_mv = number(required=False, allow_null=True)
    temperature_mdegc = number(required=False, allow_null=True)


class PackTest(WithPaper):
    """What a pack gives as it is."""

    discharge = DischargeIn()
    pack_rest_mv = number(required=False, allow_null=True, default=None)
    groups_mv = serializers.ListField(child=number(allow_null=True), max_length=200)
    resistance_uohm = number(required=False, allow_null=True)
    resistance_method = serializers.CharField(max_length=80, required=False, allow_blank=True)
    sure = sure()

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Return what the operation takes."""
        attrs["discharge"] = Discharge(**attrs["discharge"])
        return attrs


class CellsIn(Versioned):
    """Removed cells by code."""

    cells = CellCode(many=True)


class ToCustomer(CellsIn):
    """Removed cells by code and what stayed of a pack whose repair was given up; that their terminals are insulated."""

    items = Numbered(queryset=Item.objects.all(), many=True, required=False)
    insulated = serializers.BooleanField()


class IntoContainer(Versioned):
    """What goes into a container; that its terminals are insulated, and damaged ones each packed alone."""

    container = Named(slug_field="code", queryset=Container.objects.all())
    cells = CellCode(many=True, required=False)
    items = Numbered(queryset=Item.objects.all(), many=True, required=False)
    insulated = serializers.BooleanField()
    packed_alone = serializers.BooleanField(required=False)
    casings_closed = serializers.BooleanField(required=False)


class WasteItem(Versioned):
    """Something else of a job that is waste; ``cells`` with how well that number is known."""

    kind = TermField(ItemKind)
    description = serializers.CharField(max_length=160)
    condition = TermField(Condition)
    cells = serializers.IntegerField(min_value=1, required=False, write_only=True)
    basis = TermField(CountBasis, required=False, write_only=True)
    rated_energy_mwh = serializers.IntegerField(min_value=0, required=False)
    mass_mg = serializers.IntegerField(min_value=1, required=False)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Put the number of cells and its basis together, as the operation takes them."""
        cells, basis = attrs.pop("cells", None), attrs.pop("basis", CountBasis.UNKNOWN)
        return attrs | {"count": CellCount(cells=cells, basis=basis)}


class EmergencyRoute(Versioned):
    """One cell or item that is liable to react, and who took it."""

    cell = CellCode(required=False)
    item = Numbered(queryset=Item.objects.all(), required=False)
    receiver = serializers.CharField(max_length=120)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Return what the operation takes."""
        things = [attrs.pop(name) for name in ("cell", "item") if name in attrs]
        if len(things) != 1:
            raise serializers.ValidationError("Name one cell or one item.")
        return attrs | {"thing": things[0]}


class NothingMore(Versioned):
    """Nothing but the version."""


class ReceivedBy(Versioned):
    """Who takes the device."""

    received_by = serializers.CharField(max_length=120, allow_blank=True)
    travels = TermField(Travels, required=False)
    transport_tests = serializers.CharField(max_length=160, required=False, allow_blank=True)
    fee = TermField(FeeState, required=False)


class Replaced(Versioned):
    """A cell of the plan that is not fit, and which cell goes in at each position that changes."""

    code = serializers.CharField(max_length=40)
    goes_in = serializers.DictField(
        child=serializers.CharField(max_length=40), help_text='by position, such as {"1.2": "C017"}'
    )
    reason = serializers.CharField(max_length=300)
    condition = TermField(Condition, required=False)


class Breached(Versioned):
    """A placed cell whose can was pierced, and the free one that goes in instead."""

    code = serializers.CharField(max_length=40)
    instead = serializers.CharField(max_length=40)
    happened = serializers.CharField(max_length=400)
    isolated = serializers.BooleanField()
    reacting = serializers.BooleanField(required=False)


class GroupsRead(WithInstrument):
    """What the groups of a half-built pack have at rest; needed as soon as cells are joined."""

    groups_mv = serializers.ListField(
        child=number(allow_null=True), max_length=possible.MOST_CELLS, required=False, default=list
    )


class Park(GroupsRead):
    """Where a half-built pack is left, its ends covered; its supply disconnected where it charges."""

    place = serializers.CharField(max_length=80)
    insulated = serializers.BooleanField()
    supply_off = serializers.BooleanField(required=False)


class Resume(GroupsRead):
    """A parked pack is taken up again; who stays beside it where it charges."""

    supervised_by = serializers.CharField(max_length=100, required=False, allow_blank=True)


class Issue(serializers.Serializer[Any]):
    """Which document."""

    kind = TermField(DocumentKind)
