"""The health report."""

from packs.documents import Heading, HealthReport, PackTest
from packs.terms import Measure, Stage
from shop.bridge import figures
from shop.models import Job, PackAsFound, Reading

from .test_report import as_found, checks, instruments, require_done, steps_done


def health_report(job: Job, heading: Heading) -> HealthReport:
    """Return what a pack gave that was not opened further than needed to measure it; there is none before the test."""
    require_done(job, Stage.TEST_PACK)
    return HealthReport(
        heading=heading,
        customer=job.device.customer.name,
        complaint=job.complaint,
        found=as_found(job),
        tested=_tested(job.as_found),
        instruments=instruments(job),
        checks=checks(job, (), heading.workshop.number_locale),
        steps=steps_done(job, heading.workshop.time_zone),
    )


def _tested(found: PackAsFound) -> PackTest:
    job = found.job
    rest, voltages = (figures.of_points(job, Stage.TEST_PACK, m) for m in (Measure.REST_VOLTAGE, Measure.VOLTAGE))
    one = {
        measure: figures.of_points(job, Stage.TEST_PACK, measure).get("pack")
        for measure in (Measure.CAPACITY, Measure.CURRENT, Measure.TEMPERATURE, Measure.DC_RESISTANCE)
    }
    return PackTest(
        capacity_mah=one[Measure.CAPACITY],
        current_ma=one[Measure.CURRENT],
        end_mv=voltages.get("end of discharge"),
        temperature_mdegc=one[Measure.TEMPERATURE],
        pack_rest_mv=rest.get("pack"),
        groups_mv=tuple(rest.get(f"group {number}") for number in range(1, found.series + 1)),
        resistance_uohm=one[Measure.DC_RESISTANCE],
        resistance_method=_method(job),
    )


def _method(job: Job) -> str:
    """Return how the resistance that counts was measured."""
    taken = Reading.objects.standing().filter(job=job, stage=Stage.TEST_PACK.value, measure=Measure.DC_RESISTANCE.value)
    last = taken.last()
    return last.method if last else ""
