"""HTML pages from templates: every text is escaped, every page stands alone in one file."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any

from advisor.present.words import over_ground
from advisor.rules.registry import Suitability

if TYPE_CHECKING:
    from jinja2 import Environment

    from advisor.card.model import LessonCard


@lru_cache(maxsize=1)
def environment() -> Environment:
    """The templates, autoescape on, an unknown name an error."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    return Environment(
        loader=PackageLoader("advisor.present", "templates"),
        autoescape=True,
        auto_reload=False,  # the templates are the package's: to look for a newer file a page takes longer than to fill it in
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def render(template: str, **values: Any) -> str:
    """A template filled in. Raises only for a template that is wrong."""
    return environment().get_template(template).render(**values)


def markup(svg: str) -> Any:
    """SVG made by this package, marked as markup so that it is not escaped again."""
    from markupsafe import Markup

    return Markup(svg)


def card_html(card: LessonCard, *, units: str = "us") -> str:
    """A lesson card as one printed side.

    Parameters
    ----------
    card : LessonCard
    units : str
        ``us`` or ``metric``, for distances over the ground.

    Returns
    -------
    str
        A whole HTML document. Never raises.
    """
    from advisor.present import card as card_texts  # the desk's pages use this module and draw no card

    title, where, made = card_texts.header_lines(card)
    school = card_texts.school_lines(card)
    room = card_texts.room_for_cautions(card, school)
    small = (
        bool(school) and room < card_texts.CAUTIONS_AT_LEAST
    )  # the school's lines give way to the cautions, to the foot
    if small:
        room = card_texts.room_for_cautions(card, ())
    found = {name: markup(svg) for name, svg in card_texts.figures(card, units=units).items()}
    return render(
        "card.html",
        card=card,
        radius=over_ground(card.radius_words, units),
        astray=over_ground(card.astray.says, units) if card.astray is not None else "",
        title=title,
        where=where,
        made=made,
        rating=card_texts.rating_words(card),
        suited=card.suitability is Suitability.SUITED,
        figures=found,
        marks=card_texts.mark_table(card),
        corners=card_texts.corner_lines(card),
        sensitivity=card_texts.sensitivity_table(card),
        others=card_texts.others_line(card) if room >= card_texts.CAUTIONS_AT_LEAST else "",
        wide=card.lesson.shape == "pylon",
        runways=card_texts.runway_lines(card),
        cautions=card_texts.caution_lines(card, max(room, card_texts.CAUTIONS_AT_LEAST)),
        briefing=card.briefing,
        school=school,
        small=small,
        tight=small or room < 0,  # as with the longest names a school may give: lines closer together
        standing=card_texts.card_standing(card),
        true_words=card_texts.true_words(card),
        made_up=card.day.station.source.site.made_up,
    )
