"""From raw reports to what is asked of the engine: whose report, of when, borrowed from where, on which runway."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from advisor.conditions import PilotWind, StationInput, build_conditions
from advisor.errors import AdvisorError, DataFileError, UnknownStation, WrongReport
from advisor.limits import stage_setup
from advisor.places import RunwayEnd, Station
from advisor.places.packed_file import Field
from advisor.prepare import Asked, describe_site, prepare
from advisor.ratings import Ratings
from advisor.reports.gathered import Gathered, StationReports, StoredReport
from advisor.rules.registry import Suitability
from advisor.school import Borrow, Notice, School
from advisor.segments import to_minutes
from tests.day_case import FIELD, clock
from tests.fields import FAIR, cell_at, given, ratings
from tests.fixed_cases import borrow_faults

NOW = datetime(2026, 4, 25, 18, 0, tzinfo=UTC)
ENDS = tuple(RunwayEnd(n, d, 3000, "asphalt") for n, d in (("04", 42.7), ("22", 222.7), ("13", 132.7), ("31", 312.7)))
TAF = "TAF {0} 251730Z 2518/2618 22012KT P6SM SKC"


def stored(station: str, raw: str, kind: str = "metar", at: datetime | None = None) -> StoredReport:
    return StoredReport(station, kind, raw, at, NOW, NOW, "text")


def metar(station: str = "XBRK", time: str = "251753Z", rest: str = f"22012KT {FAIR}") -> StoredReport:
    return stored(station, f"METAR {station} {time} {rest}")


def place(ident: str, north_nm: float = 0.0, higher_ft: float = 0.0) -> Field:
    station = Station(
        ident,
        "made up",
        41.0 + north_nm / 60.0,
        -97.0,
        1200.0 + higher_ft,
        "America/Chicago",
        "US",
        "made up",
    )
    return Field(station, ENDS)


def school(*fields: Field, **more: object) -> School:
    return School("made up", stations=(Field(FIELD, ENDS), *fields), **more)  # type: ignore[arg-type]


def ask(
    stations: dict[str, StationReports], the_school: School | None = None, asked: Asked | None = None
) -> StationInput:
    return prepare("XBRK", Gathered("text", NOW, stations), now=NOW, school=the_school or school(), asked=asked)


def own(*metars: StoredReport, taf: StoredReport | None = None) -> dict[str, StationReports]:
    return {"XBRK": StationReports("XBRK", metars, taf)}


# --- whose and when ------------------------------------------------------------------------------------------


def test_own_report_and_forecast_are_used_and_nothing_is_borrowed() -> None:
    found = ask(own(metar(), taf=stored("XBRK", TAF.format("XBRK"), "taf")))
    assert found.metars[0].wind.speed_kt == 12
    assert found.taf is not None
    assert (found.observation_from, found.forecast_from, found.borrowed_far) == (None, None, False)


def test_a_report_of_the_future_is_refused_with_what_to_do() -> None:
    with pytest.raises(WrongReport, match=r"lies \d+ minutes in the future.*Check the clock"):
        ask(own(metar(time="251853Z")))


def test_two_clocks_that_differ_a_little_are_no_future() -> None:
    assert len(ask(own(metar(time="251805Z"))).metars) == 1


def test_a_good_report_beside_one_of_the_future_is_used_and_the_other_said() -> None:
    found = ask(own(metar(time="251753Z"), metar(time="251953Z")))
    assert len(found.metars) == 1
    assert any("future" in x for x in found.notes)


def test_newest_comes_first_and_a_correction_before_what_it_corrects() -> None:
    reports = (
        metar(time="251653Z"),
        metar(),
        stored("XBRK", f"METAR XBRK 251753Z COR 22014KT {FAIR}"),
    )
    found = ask(own(*reports))
    assert [m.wind.speed_kt for m in found.metars] == [14, 12, 12]


def test_a_report_that_cannot_be_read_is_left_out_and_said() -> None:
    found = ask(own(stored("XBRK", "METAR nonsense"), metar()))
    assert len(found.metars) == 1
    assert any("could not be read" in x for x in found.notes)


def test_nothing_at_all_is_a_sentence() -> None:
    with pytest.raises(WrongReport, match="nothing is rated"):
        ask({})


def test_another_stations_report_too_far_away_is_not_this_ones() -> None:
    with pytest.raises(WrongReport, match="XBRK: no report"):
        ask({"XHLW": StationReports("XHLW", (metar("XHLW"),))}, school(place("XHLW", 40)))


def test_an_unknown_station_is_refused() -> None:
    with pytest.raises(UnknownStation):
        prepare("ZZZZ9", Gathered("text", NOW, {}), now=NOW)


@pytest.mark.parametrize(
    ("taf", "says"),
    [
        ("TAF XBRK 251130Z 2512/2612 CNL", "cancelled"),
        ("TAF XBRK 251130Z NIL", "NIL"),
        ("TAF XBRK 251130Z 2512/2517 22012KT P6SM SKC", "ended at 25 1700Z"),
        ("TAF XBRK 252330Z 2600/2624 22012KT P6SM SKC", "is from the future (25 2330Z)"),
    ],
)
def test_a_forecast_that_is_none_is_said_and_not_used(taf: str, says: str) -> None:
    found = ask(own(metar(), taf=stored("XBRK", taf, "taf")))
    assert found.taf is None
    assert any(says in x for x in found.notes), found.notes


def test_what_could_not_be_read_is_quoted_apart_from_the_rest() -> None:
    taf = stored("XBRK", "TAF XBRK 251730Z 2518/2618 22012KT P6SM QWERT SKC FM252000 22010KT P6SM ZXCVB SKC", "taf")
    found = ask(own(metar(rest="22012KT 10SM XYZZY CLR 15/05 A3000"), taf=taf))
    assert "Parts of the report of 25 1753Z could not be read: XYZZY" in found.notes
    assert "Parts of the forecast could not be read: QWERT | ZXCVB" in found.notes
    assert not any("could not be read" in x for x in ask(own(metar())).notes)


def test_the_notes_of_a_borrowed_forecast_are_said_too() -> None:
    taf = stored("XHLW", "TAF XHLW 251730Z 2518/2618 22012KT P6SM SKC AMD NOT SKED AFT 252200", "taf")
    found = ask({**own(metar()), "XHLW": StationReports("XHLW", (), taf)}, school(place("XHLW", 10)))
    assert any("no amendments while it holds" in x for x in found.notes), found.notes


# --- borrowing ------------------------------------------------------------------------------------------------


def test_distances_and_heights_of_a_lender() -> None:
    assert borrow_faults() == []


def test_the_nearest_lender_is_named_with_distance_side_and_height() -> None:
    reports = {n: StationReports(n, (), stored(n, TAF.format(n), "taf")) for n in ("XHLW", "XSND")}
    found = ask({**own(metar()), **reports}, school(place("XHLW", 24, -200), place("XSND", 28)))
    assert found.forecast_from == (
        "Forecast borrowed from XHLW, 24 NM N, 200 ft lower. Its ceilings count 200 ft lower here."
    )
    assert (found.forecast_drop_ft, found.observation_drop_ft) == (200.0, 0.0)
    assert found.borrowed_far


def test_a_lender_named_in_the_schools_file_comes_before_a_nearer_one() -> None:
    reports = {n: StationReports(n, (), stored(n, TAF.format(n), "taf")) for n in ("XHLW", "XSND")}
    chosen = school(place("XHLW", 5), place("XSND", 12), borrow={"XBRK": Borrow(forecast_from="XSND")})
    found = ask({**own(metar()), **reports}, chosen)
    assert found.forecast_from is not None
    assert "XSND" in found.forecast_from
    assert not found.borrowed_far


def test_a_lender_named_in_the_schools_file_that_lies_too_far_is_said() -> None:
    reports = {n: StationReports(n, (), stored(n, TAF.format(n), "taf")) for n in ("XHLW", "XSND")}
    for far, words in (
        (place("XSND", 30.2), "30.2 NM away and 0 ft lower"),
        (place("XSND", 12, 1100), "12.0 NM away and 1,100 ft higher"),
    ):
        chosen = school(place("XHLW", 40), far, borrow={"XBRK": Borrow(forecast_from="XSND")})
        found = ask({**own(metar()), **reports}, chosen)
        assert found.taf is None
        (said,) = [x for x in found.notes if "not used" in x]
        assert f"takes the forecast from XSND, {words}" in said
        assert "up to 30 NM and 1,000 ft" in said
    near = ask({**own(metar()), **reports}, school(place("XHLW", 10), place("XSND", 40)))
    assert not any("not used" in x for x in near.notes)


def test_a_borrowed_report_is_named_too() -> None:
    found = ask({"XHLW": StationReports("XHLW", (metar("XHLW"),))}, school(place("XHLW", 10)))
    assert found.observation_from == "Report borrowed from XHLW, 10 NM N, 0 ft lower."


def test_the_cloud_of_a_lower_lender_stands_closer_to_the_ground_here() -> None:
    """OVC030 at a field 900 ft lower is 2,100 ft above this one; of a higher lender nothing is gained."""
    for lower_ft, overcast in ((900, 2100.0), (1, 2999.0), (-900, 3000.0), (0, 3000.0)):
        around = school(place("XHLW", 10, -lower_ft))
        for group, ceiling in (("OVC030", overcast), ("SCT030", np.inf), ("NSC", np.inf)):
            raw = f"METAR XHLW 251753Z 22008KT 10SM {group} 15/05 A3000"
            report = stored("XHLW", raw, "metar")
            taf = stored("XHLW", f"TAF XHLW 251730Z 2518/2618 22008KT P6SM {group if group != 'NSC' else 'SKC'}", "taf")
            found = ask({"XHLW": StationReports("XHLW", (report,), taf)}, around)
            table = build_conditions([found]).table
            assert set(table.ceiling_ft) == {ceiling}, (lower_ft, group)
    own_sky = ask(own(metar()), school(place("XHLW", 10, -900)))
    assert own_sky.observation_drop_ft == 0.0


def test_an_unknown_ceiling_of_a_lower_lender_stays_unknown() -> None:
    report = stored("XHLW", "METAR XHLW 251753Z 22008KT 10SM 15/05 A3000", "metar")
    found = ask({"XHLW": StationReports("XHLW", (report,))}, school(place("XHLW", 10, -900)))
    assert np.isnan(build_conditions([found]).table.ceiling_ft).all()


# --- winds aloft ---------------------------------------------------------------------------------------------

#: Lincoln lies 10 NM west and 9 S of the made-up field, Omaha some 60 E; XQQ is nowhere. 6,000 ft: 200 at 30 and 25 kt.
ALOFT = """DATA BASED ON 251200Z
VALID 251800Z   FOR USE 1400-2100Z. TEMPS NEG ABV 24000

FT  3000    6000    9000
XQQ 9900 9900+16 3606+10
OMA 2030 2035+14 2325+09
LNK 2025 2028+14 2325+09
DEN                 2722-02
"""


def aloft(raw: str, points: dict[str, str] | None = None) -> StationInput:
    given_aloft = (stored("", raw, "aloft", NOW),)
    found = Gathered("text", NOW, own(metar()), given_aloft)
    return prepare("XBRK", found, now=NOW, school=school(), aloft_point=points)


def test_winds_aloft_are_those_of_the_nearest_point_unless_one_is_named() -> None:
    """Used 1400Z to 2100Z; the field lies at 1,200 ft, so 3,000 ft is 1,800 above it."""
    minute = int(NOW.timestamp()) // 60
    for points, speed_kt, words in (
        (None, 25.0, "point LNK, "),
        ({"XBRK": "OMA"}, 30.0, "point OMA, lowest"),
        ({"XBRK": "ZZZ"}, 25.0, "point LNK, "),  # not in the bulletin
    ):
        found = aloft(ALOFT, points)
        ((begin, end, lowest_kt, height_ft, _),) = found.aloft
        assert (begin, end) == (minute - 240, minute + 180)
        assert (lowest_kt, height_ft) == (speed_kt, 1800.0)
        assert any(words in note for note in found.notes), found.notes
    near = next(note for note in aloft(ALOFT).notes if "LNK" in note)
    assert "used 09:00 CDT (1400Z) to 16:00 CDT (2100Z)." in near


def test_winds_aloft_that_cannot_be_read_or_lie_too_far_away_are_left_out() -> None:
    garbled = aloft("no table at all")
    assert garbled.aloft == ()
    assert any(note.startswith("Winds aloft could not be read: ") for note in garbled.notes)
    far = ALOFT.replace("OMA", "XQR").replace("LNK", "XQS")  # Denver alone, over 300 NM away
    assert aloft(far).aloft == ()


# --- runways -----------------------------------------------------------------------------------------------------


def test_a_named_runway_is_the_only_one_used_and_the_others_are_known() -> None:
    site = describe_site("XBRK", now=NOW, school=school(), asked=Asked(runway="4"))
    assert [e.name for e in site.usable_ends] == ["4"] or [e.name for e in site.usable_ends] == ["04"]
    assert len(site.runways) == 4


def test_a_runway_the_field_does_not_have_is_refused_with_those_it_has() -> None:
    with pytest.raises(DataFileError, match="known: 04, 22, 13, 31"):
        describe_site("XBRK", now=NOW, school=school(), asked=Asked(runway="09"))


def test_a_runway_number_stands_in_where_none_is_known() -> None:
    bare = School("made up", stations=(Field(FIELD, ()),))
    site = describe_site("XBRK", now=NOW, school=bare, asked=Asked(runway="22"))
    assert abs(site.usable_ends[0].bearing_deg_true - 222.7) < 0.3  # 220 magnetic, 2.7 east (WMM2025)
    assert site.usable_ends[0].bearing_estimated
    assert any("taken from the number" in x for x in site.assumptions)


def test_no_runway_known_is_said() -> None:
    site = describe_site("XBRK", now=NOW, school=School("made up", stations=(Field(FIELD, ()),)))
    assert site.usable_ends == ()
    assert any("No runway of this field is known" in x for x in site.assumptions)


def test_a_closed_runway_is_no_runway() -> None:
    notice = Notice("works", "closure", "the field", NOW + timedelta(hours=5), station="XBRK", runway="13/31")
    shut = school(notices=(notice,))
    site = describe_site("XBRK", now=NOW, school=shut)
    assert site.closed_at(to_minutes(NOW)) == {"13", "31"}
    with pytest.raises(DataFileError, match="closed"):
        describe_site("XBRK", now=NOW, school=shut, asked=Asked(runway="31"))
    reopened = NOW + timedelta(hours=5)
    assert site.closed_at(to_minutes(reopened)) == frozenset()
    assert describe_site("XBRK", now=reopened, school=shut, asked=Asked(runway="31")).named_runway == "31"
    # 13 kt across the only open runway, although 13/31 lies along the wind
    found = ratings(given(f"13013KT {FAIR}", site=site), stage_setup("pre-solo"))
    assert "XW01" in {c.code for c in found.cautions(0, 8, [cell_at(found, "18:00")])}


@pytest.mark.parametrize(
    ("since", "until", "shut"),
    [
        (None, "21:30", ("18:15", "20:15", "20:45", "21:15")),  # opens again today
        ("20:30", "23:30", ("20:45", "21:15", "21:45", "22:45")),  # closes later today, for a while
    ],
)
def test_a_runway_counts_while_it_is_open_and_no_longer(since: str | None, until: str, shut: tuple[str, ...]) -> None:
    """13 kt along 13/31 is 13 kt across 04/22, over the pattern's stop of 12: each hour is judged on what is open in it."""
    times = ("18:15", "20:15", "20:45", "21:15", "21:45", "22:45", "23:45")
    from_utc = None if since is None else clock(since, 4)
    closed = Notice("works", "closure", "the field", clock(until, 4), from_utc, "XBRK", "13/31")

    def found(*notices: Notice) -> Ratings:
        site = describe_site("XBRK", now=NOW, school=school(notices=notices))
        return ratings(given(f"13013KT {FAIR}", "2512/2612 13013KT P6SM SKC", site=site), stage_setup("pre-solo"))

    one, both = found(closed), found(closed, replace(closed, runway="04/22"))
    told = {t: {c.code for c in one.cautions(0, 8, [cell_at(one, t)])} for t in times}
    assert tuple(t for t in times if "XW01" in told[t]) == shut
    # no runway open is no runway known: circuits are not rated then, and rated before and after
    lowest = {t: both.lowest(0, 8, [cell_at(both, t)]) for t in times}
    assert tuple(t for t in times if lowest[t] is Suitability.NOT_RATED) == shut
    (missing,) = (c for c in both.cautions(0, 8, [cell_at(both, "20:45")]) if c.code == "XW05")
    assert "no runway that counts is open then" in missing.message


def test_a_notice_closes_a_runway_of_the_packed_list() -> None:
    """The school's file need not describe a runway again to close it."""
    ends = {end.name for end in describe_site("KLNK", now=NOW).runways}
    one = sorted(ends)[0]
    closed = Notice("works", "closure", "the field", NOW + timedelta(hours=1), None, "KLNK", one)
    site = describe_site("KLNK", now=NOW, school=School("made up", notices=(closed,)))
    assert {end.name for end in site.runways} == ends
    assert site.closed_at(to_minutes(NOW)) == {one}


# --- a pilot's wind, and hours that nothing reaches -----------------------------------------------------------


def test_a_pilots_wind_reaches_the_rating_for_an_hour() -> None:
    wind = PilotWind(240.0, 36.0, NOW)
    source = ask(own(metar(), taf=stored("XBRK", TAF.format("XBRK"), "taf")), asked=Asked(pilot_wind=wind))
    found = build_conditions([source]).table
    inside = found.start_min < found.start_min[0] + 60
    assert (found.pilot_kt[inside] == 36.0).all()
    assert np.isnan(found.pilot_kt[~inside]).all()
    source_ratings = ratings(source, stage_setup("post-solo"))
    assert "DE01" in {c.code for c in source_ratings.cautions(0, 0, [cell_at(source_ratings, "18:00")])}
    assert "DE01" not in {c.code for c in source_ratings.cautions(0, 0, [cell_at(source_ratings, "20:30")])}


@pytest.mark.parametrize(
    ("taf", "says"),
    [
        ("2512/2520 22012KT P6SM SKC", "the forecast ends at 25 2000Z"),
        (None, "there is no forecast, and a report stands for two hours"),
    ],
)
def test_an_hour_that_nothing_reaches_is_not_rated_and_says_why(taf: str | None, says: str) -> None:
    found = ratings(given(f"22012KT {FAIR}", taf), stage_setup("post-solo"))
    cell = cell_at(found, "21:00")
    assert (found.suitability[0, :, cell] == Suitability.NOT_RATED).all()
    (caution,) = found.cautions(0, 0, [cell])
    assert caution.code == "AG03"
    assert says in caution.message
    assert caution.caps_at is Suitability.NOT_RATED
    assert caution.group


def test_refusals_are_one_tree() -> None:
    assert issubclass(WrongReport, AdvisorError)
    assert issubclass(UnknownStation, AdvisorError)
