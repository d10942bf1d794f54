"""Three questions for the instructor, from what the page found."""

from __future__ import annotations

from advisor.advice import StageDay

#: A question for the instructor by what the caution is about (common practice, no source).
QUESTIONS: dict[str, str] = {
    "wind": "What wind would make us turn for home, and how shall we notice it from the air?",
    "gust": "What do we do if the gusts come up while we are out?",
    "variable": "How do we find the wind up there when its direction will not settle?",
    "crosswind": "Which runway will we come back to, and what crosswind have you seen me handle?",
    "demand": "How wide should my circle be today, and at what bank do I leave it?",
    "ceiling": "How low may the cloud come before we turn for home?",
    "visibility": "Which landmarks must I still see, and what do we do when one disappears?",
    "temperature": "What does this temperature do to our climb and to me?",
    "fog": "What do we do if the fog is early, or late to lift?",
    "icing": "What do we check on the wings and the runway before we start?",
    "thunder": "Where are the storms now, and which way is out?",
    "shear": "Where would we meet the change of wind, and what will it feel like?",
    "disagreement": "The report and the forecast tell two stories: which do you trust, and why?",
    "age": "How old may the report be before we ask for a new one?",
    "light": "By what time must we be back on the ground?",
    "source": "How well does another station's report fit our field?",
    "carburettor": "When do we use carburettor heat today?",
    "missing": "What is missing from the reports, and how could we find it out?",
}
#: Where one rule of a family asks for another question than the rest.
BY_CODE: dict[str, str] = {
    "TS07": "How would we learn of a storm that this station cannot see?",
    "UN01": "What do you read in the group that could not be read here?",
    "WI05": "The station only estimates its wind: what do you see of it from here?",
}
OTHERWISE = (
    "Which field would we use if the engine stopped at the lowest point of the lesson?",
    "How shall we check the wind at lesson height before we begin?",
    "What will I see first when I get the correction wrong?",
)
ASKED = 3


def questions(stage: StageDay) -> tuple[str, ...]:
    """Three questions to ask, from the cautions first. Never raises."""
    out: list[str] = []
    # the reason the page names first is asked about first
    for c in sorted(stage.cautions, key=lambda c: stage.limiting is None or c.code != stage.limiting.code):
        asked = BY_CODE.get(c.code, QUESTIONS.get(c.family))
        if asked is not None and not any(q.startswith(asked) for q in out):
            out.append(f"{asked} ({c.code}: {c.message})")
    return tuple([*out, *OTHERWISE][:ASKED])
