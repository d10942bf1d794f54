"""``advisor whatif``: the numbers of a lesson in a wind, with no report, for a briefing room."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from advisor.commands.given import Number

if TYPE_CHECKING:
    from advisor.commands.whatif_model import Question
    from advisor.commands.whatif_winds import Surface
    from advisor.flight.demand import WindRange

LESSONS = (
    "tracking",
    "rectangular-course",
    "s-turns",
    "turns-around-a-point",
    "eights-along-a-road",
    "eights-across-a-road",
    "eights-around-pylons",
    "eights-on-pylons",
    "crosswind-pattern",
)


@click.command("whatif")
@click.option("--lesson", type=click.Choice(LESSONS), required=True, help="Lesson to work out.")
@click.option(
    "--wind",
    "wind_text",
    metavar="DDD/SS[GPP]",
    help="Wind at the field, degrees true and kt: 250/15G22, VRB/05, calm.",
)
@click.option(
    "--wind-at-height",
    metavar="DDD/SS",
    help="Wind at lesson height outright: 260/22, 260/18-24, 250-270/18-24.",
)
@click.option("--veer", metavar="LOW-HIGH", help="Degrees the wind turns clockwise up to lesson height, such as 0-20.")
@click.option(
    "--air",
    type=click.Choice(("day", "overcast", "stable")),
    default="day",
    help="How well the air is stirred; stable is night and the hours by sunrise and sunset. [day]",
)
@click.option("--kias", type=Number(30, 250), help="Indicated airspeed, kt. [that of the generic trainer]")
@click.option("--elevation", type=Number(-1500, 15000), help="Field elevation, ft. [the field's, else 0]")
@click.option("--altimeter", type=Number(25, 32), help="Altimeter setting, inHg. [standard]")
@click.option("--temperature", type=Number(-60, 60), help="Temperature at lesson height, C. [standard]")
@click.option("--height", type=Number(100, 5000), default=1000.0, help="Height above the ground, ft. [1000]")
@click.option(
    "--radius",
    type=Number(100, 20000),
    help="Radius of circles and corners, ft. [smallest that holds --bank]",
)
@click.option("--bank", type=Number(5, 60), default=30.0, help="Steepest bank planned, degrees. [30]")
@click.option(
    "--course",
    "--road",
    "line",
    type=Number(0, 360),
    help="Direction of the road, pylon line or downwind leg, degrees true.",
)
@click.option("--runway", metavar="NN", help="Runway end (22, magnetic) or landing direction (223, true).")
@click.option(
    "--variation",
    type=Number(-180, 180),
    help="Magnetic variation, degrees, east positive: adds magnetic headings.",
)
@click.option(
    "--length-ft",
    type=Number(1000, 60000),
    help="Rectangle flown, along the downwind leg, ft. [7920]",
)
@click.option("--width-ft", type=Number(1000, 60000), help="Rectangle flown, along base, ft. [7920]")
@click.option("--pylon-gap-ft", type=Number(500, 60000), help="Distance between pylons, ft. [a mile]")
@click.option("--school", "school_file", type=click.Path(), help="The school's own file: its aircraft, its field.")
@click.option("--field", metavar="STATION", help="Take height, variation and runway from this field.")
@click.option("--aircraft", "aircraft_name", help="Aircraft by name, from the school's file or the shipped ones.")
@click.option("--now", "now_text", metavar="TIME", help="Date of the variation, as an ISO time (default: the clock).")
@click.option("--left/--right", "left", default=True, help="First turn, or side of the pattern. [left]")
@click.option("--south", is_flag=True, help="South of the equator: the wind backs with height.")
@click.option("--format", "style", type=click.Choice(("text", "json", "csv")), default="text", help="[text]")
def command(style: str, **given: Any) -> None:
    """Work out crab, bank, groundspeed and heading for a lesson in a wind, with no report.

    Ranges run over every wind between the low and the high end at lesson height. Your instructor decides.

    \b
    Examples:
      advisor whatif --wind 250/15G22 --lesson turns-around-a-point --kias 90
      advisor whatif --wind 250/15G22 --lesson crosswind-pattern --runway 22 --variation 8
      advisor whatif --wind-at-height 260/18-24 --lesson s-turns --road 170 --format csv
      advisor whatif --wind 250/12 --lesson crosswind-pattern --school school.toml --field KXYZ --runway 22
    """
    from advisor.commands.whatif_print import PRINTERS
    from advisor.commands.whatif_tables import answer

    question, facts, assumed = _question(**given)
    found = answer(question)
    found.assumed[:0] = assumed
    click.echo(PRINTERS[style](question, facts, found), nl=False)


def _question(**given: Any) -> tuple[Question, list[str], list[str]]:
    """The question in plain numbers, the lines that restate it, and what was assumed."""
    from advisor.commands.whatif_model import DEFAULT_SIDES_FT, Question
    from advisor.commands.whatif_winds import height_words, parse_runway, parse_wind, surface_words
    from advisor.lessons import lesson as find_lesson
    from advisor.limits import table

    assumed: list[str] = []
    asked = [given[x] for x in ("school_file", "field", "aircraft_name")]
    if any(x is not None for x in asked):
        from advisor.commands.whatif_school import with_school

        given, assumed = with_school(given)
    if given["elevation"] is None:
        given["elevation"] = 0.0
    surface = None if given["wind_text"] is None else parse_wind(given["wind_text"])
    wind = _wind(given, surface, assumed)
    tas, fact = _airspeed(given, assumed)
    exit_bank = float(table()["fixed"][find_lesson(given["lesson"]).exit_bank]["value"])
    runway = given.get("runway_deg_true")
    if given["runway"] is not None and runway is None:
        runway, words_of_runway = parse_runway(given["runway"], given["variation"])
        assumed += words_of_runway
    sides = (given["length_ft"] or DEFAULT_SIDES_FT[0], given["width_ft"] or DEFAULT_SIDES_FT[1])
    question = Question(
        lesson=given["lesson"],
        wind=wind,
        tas_kt=tas,
        height_ft_agl=given["height"],
        bank_deg=given["bank"],
        exit_bank_deg=exit_bank,
        turn=-1 if given["left"] else 1,
        radius_ft=given["radius"],
        line_deg_true=given["line"],
        runway_deg_true=runway,
        surface=None if surface is None else (surface[0], surface[1], surface[2]),
        sides_ft=sides,
        pylon_gap_ft=given["pylon_gap_ft"],
        variation_deg=given["variation"],
    )
    facts = [
        *([f"Wind at the field: {surface_words(surface)}."] if surface is not None else []),
        f"Wind at lesson height: {height_words(wind)}.",
        fact,
    ]
    return question, facts, assumed


def _wind(given: dict[str, Any], surface: Surface | None, assumed: list[str]) -> WindRange:
    """The wind at lesson height, given outright or estimated from the field's."""
    from advisor.commands.whatif_winds import estimate_at_height, parse_height_wind
    from advisor.errors import GeometryError

    if given["wind_at_height"] is not None:
        outright = parse_height_wind(given["wind_at_height"])
        if given["veer"] is not None:
            raise GeometryError("--veer turns the field's wind; --wind-at-height is given outright. Leave one out.")
        return outright
    if surface is None:
        raise GeometryError("There is no wind to work with. Give --wind 250/15G22, or --wind-at-height 260/20.")
    wind, words = estimate_at_height(surface, given["air"], given["veer"], given["south"])
    assumed += words
    return wind


def _airspeed(given: dict[str, Any], assumed: list[str]) -> tuple[float, str]:
    """True airspeed at lesson height, kt, and the line that says how it comes about."""
    from advisor.aircraft import find_aircraft
    from advisor.atmosphere import pressure_altitude_ft, standard_day_fallback, tas_from_ias_kt

    kias = given["kias"]
    if kias is None:
        aircraft = find_aircraft()
        kias = aircraft.practice_kias
        assumed.append(f"Airspeed not given: {kias:g} KIAS, {aircraft.title or aircraft.name}.")
    nan = float("nan")
    setting = nan if given["altimeter"] is None else given["altimeter"]
    air = standard_day_fallback(given["elevation"], nan, setting)
    altitude_ft = float(pressure_altitude_ft(given["elevation"], air.altimeter_inhg)) + given["height"]
    warm = nan if given["temperature"] is None else given["temperature"]
    day = standard_day_fallback(altitude_ft, warm, nan)
    if given["altimeter"] is None:
        assumed.append(f"Altimeter not given: {float(air.altimeter_inhg):.2f} inHg.")
    if given["temperature"] is None:
        assumed.append(f"Temperature not given: standard, {float(day.temperature_c):.0f} C at lesson height.")
    tas = float(tas_from_ias_kt(kias, altitude_ft, day.temperature_c))
    return tas, (
        f"{kias:g} KIAS is {tas:.0f} kt true airspeed at {altitude_ft:,.0f} ft pressure altitude and"
        f" {float(day.temperature_c):.0f} C."
    )
