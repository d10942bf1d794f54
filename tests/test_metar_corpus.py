"""Agreement with the government decode over a folder of real reports (``--reports DIR``)."""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from advisor.errors import AdvisorError
from advisor.reports.decode_metar import decode_metar
from advisor.reports.schema import metar_object
from advisor.reports.types import Metar
from advisor.wind import WindState
from tests import metar_agreement as agreement

ROOT = Path(__file__).resolve().parent.parent
LISTINGS = agreement.read_listings(ROOT / "fixtures" / "adjudicated_metar.csv")


@pytest.mark.parametrize("listing", LISTINGS, ids=lambda x: x.kind)
def test_no_listing_is_stale(listing: agreement.Listing):
    assert listing.kind in agreement.KINDS
    assert listing.reason
    assert agreement.stale(listing) is None


def test_every_kind_is_listed():
    assert sorted(agreement.KINDS) == sorted(listing.kind for listing in LISTINGS)


def test_a_stale_listing_is_seen():
    gone = agreement.Listing("ndv-dropped", "visibility", "XBRK 222350Z 08018KT //// BKN012 02/01 Q1011", "", "made up")
    assert "nothing to explain" in str(agreement.stale(gone))
    other = agreement.Listing(
        "ndv-dropped", "visibility", "XBRK 222350Z 08018KT 9999 BKN012 02/01 Q1011", "", "made up"
    )
    assert "no longer covers" in str(agreement.stale(other))


@pytest.mark.parametrize(
    ("field", "value"),
    [("speed_kt", 9), ("gust_kt", 30), ("wind_from", "100"), ("visibility_sm", 2.0), ("ceiling_ft", 300)],
)
def test_an_unlisted_difference_is_seen(field: str, value: object):
    """A planted wrong reading, each in its field, is not explained away."""
    raw = "XBRK 222350Z 08018G27KT 5SM R11/2000FT BR FEW003 BKN012 02/01 A2990"
    right = {
        "wind_from": "80",
        "speed_kt": 18,
        "gust_kt": 27,
        "visibility_sm": 5.0,
        "ceiling_ft": 1200,
    }
    same = agreement.Theirs(raw, agreement.UNDATED, temperature_c=2, dewpoint_c=1, altimeter_inhg=29.9, **right)
    assert agreement.compare([same], LISTINGS).unlisted == []
    wrong = agreement.Theirs(
        raw, agreement.UNDATED, temperature_c=2, dewpoint_c=1, altimeter_inhg=29.9, **right | {field: value}
    )
    if field in ("visibility_sm", "ceiling_ft"):
        # a figure that is printed nowhere is the source's own slip, so an explained kind; shown by name
        assert sum(agreement.compare([wrong], LISTINGS).explained.values()) == 1
        listings: list[agreement.Listing] = []
    else:
        listings = LISTINGS
    assert len(agreement.compare([wrong], listings).unlisted) == 1


def test_agreement_with_the_government_decode(reports_dir: Path, capsys: pytest.CaptureFixture[str]):
    found = agreement.compare(agreement.read_decodes(reports_dir / "decoded_sample.csv"), LISTINGS)
    with capsys.disabled():
        print("\n" + found.table())
    assert found.rows > 100
    assert not found.unlisted, "\n".join(found.unlisted)
    assert found.verdicts["wind"]["same"] > 0.8 * found.rows


def read_or_refused(raw: str, at: datetime) -> Metar | None:
    """The decode, or ``None`` after a refusal by a whole sentence; any other exception fails the test."""
    try:
        metar = decode_metar(raw, at)
    except AdvisorError as error:
        sentence = str(error)
    else:
        json.dumps(metar_object(metar))
        return metar
    assert sentence.endswith("."), raw
    return None


def test_every_real_report_is_read_or_refused_with_a_sentence(reports_dir: Path, capsys: pytest.CaptureFixture[str]):
    read = refused = flagged = misdated = 0
    for raw, at in agreement.read_raw(reports_dir / "metar_sample.tsv"):
        metar = read_or_refused(raw, at)
        if metar is None:
            refused += 1
            continue
        read += 1
        flagged += metar.wind.state is WindState.NOT_UNDERSTOOD
        misdated += at is not agreement.UNDATED and abs(metar.observed_at - at) > timedelta(hours=14)
    with capsys.disabled():
        print(f"\n{read} read, {refused} refused; wind not understood {flagged} ({flagged / read:.3%})")
    assert read > 100
    assert flagged / read < 0.001
    assert refused / read < 0.02
    assert not misdated


def test_malformed_reports_raise_nothing_but_ours(reports_dir: Path):
    count = 0
    for raw, at in agreement.read_raw(reports_dir / "malformed_sample.tsv"):
        count += 1
        read_or_refused(raw, at)
    assert count > 20
