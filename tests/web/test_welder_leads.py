"""The page that checks a welder's leads. AWG 4 of 4 ft for 250 A is common practice, no source; the rest is worked by hand."""

from typing import Any

import pytest
from django.test import Client

from packs.terms import Role, Stage
from tests import line
from tests.factories import SettingsFactory
from tests.web.desk import at, errors, sign_in, words

pytestmark = pytest.mark.django_db


@pytest.fixture
def technician(client: Client) -> Client:
    SettingsFactory()
    sign_in(client, Role.TECHNICIAN)
    return client


TYPED = {
    "lead_area_um2": "AWG 4",
    "lead_length_um": "4 ft",
    "current_ma": "250 A",
    "pulse_us": "10 ms",
    "pulses": "100",
    "rise_k": "30 K",
}


def address() -> str:
    return f"/jobs/{line.job_at(Stage.EXAMINE).number}/welder-leads/"


def asked(client: Client, **typed: str) -> Any:
    return client.get(address(), TYPED | typed)


def test_it_opens_with_the_lead_of_common_practice_and_says_that_it_is_no_setting(technician: Client) -> None:
    """AWG 4 of ASTM B258 has 21.1506 mm², with copper of IEC 60028 0.99383 mΩ in 4 ft, so 0.24846 V at 250 A."""
    page = words(technician.get(address()))
    assert "It is no setting for a weld" in page
    assert "common practice, no source" in page
    assert "0.248 V in each lead; 0.497 V in both" in page
    # IEC 60949: (226·21.1506/250)²·ln((50 + 234.5)/(20 + 234.5)) = 40.74 s
    assert "40.7 s of current" in page
    # 1 s of current: 254.5 K · (e^(1/365.6) − 1)
    assert "warm a lead by 0.7 K of 30.0 K" in page


def test_what_the_source_drives_counts_where_it_is_stated(technician: Client) -> None:
    """12 V over 4 mΩ, two leads of 0.99383 mΩ and 2.012 mΩ: 1500.06 A, in 10 ms 180 J, 44.7 J into the leads."""
    page = words(asked(technician, voltage_mv="12 V", resistance_uohm="4 mohm", contact_uohm="2.012 mohm"))
    assert "1500.06 A as the source drives it" in page
    assert "180.0 J from the source: 44.7 J into the leads, 45.3 J between the electrodes" in page


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"pulses": "4000"}, "holds"),
        ({"pulses": "4100"}, "too warm"),
        ({"lead_area_um2": "AWG 24", "current_ma": "1500 A"}, "would melt"),
    ],
)
def test_it_says_in_words_whether_the_leads_stand_it(technician: Client, typed: dict[str, str], said: str) -> None:
    """The lead of common practice reaches 30 K after 4075 pulses of 10 ms."""
    page = words(asked(technician, **typed))
    found = [word for word in ("holds", "too warm", "would melt") if f" {word} " in page]
    assert found == [said]


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        ({"current_ma": ""}, "current_ma", "state the source below"),
        ({"voltage_mv": "12 V"}, "contact_uohm", "all three"),
        ({"lead_area_um2": "AWG"}, "lead_area_um2", "area"),
        ({"current_ma": "250 V"}, "current_ma", "current such as"),
        ({"pulse_us": "10 min"}, "pulse_us", "cannot be right"),
        ({"rise_k": "0"}, "rise_k", "cannot be right"),
        ({"pulses": "-3"}, "pulses", ""),
    ],
)
def test_what_cannot_be_is_said_beside_its_field_and_stays_typed(
    technician: Client, typed: dict[str, str], field: str, said: str
) -> None:
    answer = asked(technician, **typed)
    assert said in " ".join(errors(answer)[field])
    assert "leads" not in answer.context
    html = answer.content.decode()
    assert all(f'value="{text}"' in html for text in typed.values() if text)


def test_the_joining_step_and_the_peel_samples_lead_to_it(technician: Client) -> None:
    job = line.job_at(Stage.JOIN)
    for page in (at(job, Stage.JOIN), at(job, Stage.JOIN, "peel-samples/")):
        assert f'href="/jobs/{job.number}/welder-leads/"' in technician.get(page).content.decode()
