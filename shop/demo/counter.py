"""Who came to the demo shop's counter, with what, and how far their jobs are."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from packs.terms import Chemistry, DangerSign, DeviceClass, JobKind, Owner, Stage
from shop.models import Job, User
from shop.operations import intake


@dataclass(frozen=True, kw_only=True)
class Visit:
    """One customer with one device; ``until`` is the stage the job waits at today, None where it is closed."""

    day: int
    customer: str
    device: str
    device_class: DeviceClass
    complaint: str
    until: Stage | None
    signs: tuple[DangerSign, ...] = ()
    series: int = 4
    parallel: int = 2
    cells: str = "LH-18 2600"
    removed_owner: Owner = Owner.SHOP
    kind: JobKind = JobKind.REBUILD
    chemistry: Chemistry = Chemistry.UNKNOWN
    quoted: bool = False


VISITS = (
    Visit(
        day=3,
        customer="Ida Moor",
        device="Alder drill D-14",
        device_class=DeviceClass.TOOL,
        complaint="Runs for five minutes, then stops.",
        until=None,
    ),
    Visit(
        day=6,
        customer="Ravi Stone",
        device="Fenwick reading lamp",
        device_class=DeviceClass.OTHER,
        complaint="Case lifts off the table.",
        until=Stage.REMOVED,
        signs=(DangerSign.SWELLING,),
        chemistry=Chemistry.NMC,
    ),
    Visit(
        day=9,
        customer="Orchard Cycle Hire",
        device="Hillside cargo cycle 36",
        device_class=DeviceClass.LIGHT_VEHICLE,
        complaint="Range fell from 60 to 20 km in four years.",
        until=Stage.MEASURE,
        series=10,
        cells="LH-21 4800",
        removed_owner=Owner.CUSTOMER,
    ),
    Visit(
        day=12,
        customer="Lena Quist",
        device="Garden pump GP-3",
        device_class=DeviceClass.TOOL,
        complaint="Dead after the winter in the shed.",
        until=Stage.EXAMINE,
        signs=(DangerSign.NO_SIGN_OF_LIFE,),
    ),
    Visit(
        day=14,
        customer="Parish hall Oberau",
        device="Sound box S-2",
        device_class=DeviceClass.OTHER,
        complaint="An hour of music where it used to be eight.",
        until=Stage.MATCH,
    ),
    Visit(
        day=16,
        customer="Otto Brandt",
        device="Field lantern L-7",
        device_class=DeviceClass.OTHER,
        complaint="Goes dim after ten minutes.",
        until=Stage.FINAL_TEST,
        series=3,
    ),
    Visit(
        day=15,
        customer="Nora Vale",
        device="Bramble trimmer T-18",
        device_class=DeviceClass.TOOL,
        complaint="Stops under load; is a rebuild worth it?",
        until=Stage.TARGET,
        series=5,
        parallel=1,
        quoted=True,
    ),
    Visit(
        day=19,
        customer="Mina Sand",
        device="Hedge cutter H-20",
        device_class=DeviceClass.TOOL,
        complaint="Charges in minutes, cuts for minutes.",
        until=Stage.EXAMINE,
        series=5,
        parallel=1,
    ),
    Visit(
        day=11,
        customer="Weir allotment club",
        device="Rain barrel pump RB-2",
        device_class=DeviceClass.TOOL,
        complaint="Is the pack still good for a summer?",
        until=Stage.HAND_OVER,
        kind=JobKind.TEST_ONLY,
        series=5,
    ),
    Visit(
        day=18,
        customer="Ravi Stone",
        device="Fenwick hand warmer",
        device_class=DeviceClass.OTHER,
        complaint="No longer wanted.",
        until=Stage.REMOVED,
        kind=JobKind.TAKE_BACK,
        chemistry=Chemistry.NMC,
        series=1,
        parallel=1,
    ),
)

STOCK_PACKS = (
    Visit(
        day=17,
        customer="",
        device="Lantern pack 10.8 V",
        device_class=DeviceClass.OTHER,
        complaint="One ready on the shelf.",
        until=Stage.PLACE,
        kind=JobKind.FOR_STOCK,
        series=3,
        parallel=1,
    ),
)


def take_in(visit: Visit, *, by: User, at: datetime) -> Job:
    """Take the device of a visit in at the counter."""
    volts = visit.series * 3600
    return intake.take_in(
        customer_name=visit.customer,
        nameplate=intake.Nameplate(
            model=visit.device,
            device_class=visit.device_class,
            rated_voltage_mv=volts,
            rated_capacity_mah=Decimal(2500 * visit.parallel),
            charger_voltage_mv=visit.series * 4200,
            chemistry=visit.chemistry,
            serial=f"{visit.device[0]}{visit.day:02d}-{volts}",
        ),
        signs=visit.signs,
        complaint=visit.complaint,
        removed_owner=visit.removed_owner,
        kind=visit.kind,
        recall=intake.Recall(source="maker's recall page", checked_on=at.date(), result="nothing found"),
        by=by,
        now=at,
    )
