"""The frame of the desk's pages: marks filled, text escaped."""

from __future__ import annotations

import pytest

from advisor.present.morning_frame import Common, escaped, fill, page

COMMON = Common(sprite="<svg></svg>", made_up=False, posted="Posted.", foot="<p>Foot</p>\n")


def test_text_is_escaped_for_tags_and_quotes() -> None:
    assert escaped("""<a href="x" title='y'>&""") == "&lt;a href=&#34;x&#34; title=&#39;y&#39;&gt;&amp;"


def test_a_mark_without_a_value_is_an_error() -> None:
    with pytest.raises(KeyError):
        fill("morning_base.html", {"title": "x"})


@pytest.mark.parametrize("made_up", [False, True])
def test_no_mark_is_left_and_a_value_is_never_read_as_one(made_up: bool) -> None:
    common = Common(COMMON.sprite, made_up, COMMON.posted, COMMON.foot)
    html = page(
        common, title="<b>", made="{{ foot }}", head="<h1>x</h1>", main="", expires_iso="E", next_iso="N", reloads=True
    )
    assert "<title>&lt;b&gt;</title>" in html
    assert html.count("{{") == html.count("{{ foot }}") == 2, "the made line stands twice, as it was given"
    assert html.count("<p>Foot</p>") == 1
    assert ("<script>" in html) is not made_up
    assert ("made-up" in html.split("<body>")[1]) is made_up
