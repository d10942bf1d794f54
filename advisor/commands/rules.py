"""``advisor rules``: the catalogue, or one rule explained."""

from __future__ import annotations

import inspect
import re
from typing import Any

import click

from advisor.lessons import lessons
from advisor.limits import STAGES, shipped_pair, table
from advisor.rules.registry import Rule, all_rules, find_rule
from advisor.sources import sources as all_sources

#: Rules whose limit is each lesson's own stop, and which one.
_LESSON_STOPS = {"WI02": "mean", "GU03": "spread"}


def rule_table() -> list[tuple[str, str, str, str, str]]:
    """Code, name, family, scope and what is noticed, for every rule."""
    return [(r.code, r.name, r.family, r.scope, r.title) for r in all_rules()]


def limit_lines(rule: Rule, lesson: str | None = None) -> list[str]:
    """Limits a rule uses, by stage, as shipped; a stop of each lesson's own for one lesson, or for all."""
    data = table()
    out = []
    for name in rule.uses:
        if name in data["limit"]:
            unit = data["limit"][name]["unit"]
            pairs = []
            for stage in STAGES:
                care, stop = shipped_pair(name, stage)
                pairs.append(f"{stage} {care} / {stop}")
            out.append(f"{name} (care / stop, {unit or 'ratio'}): {'; '.join(pairs)}")
        else:
            row = data["fixed"][name]
            out.append(f"{name}: {row['value']} {row['unit']}".strip())
    if rule.code in _LESSON_STOPS:
        out += [
            f"{x.key} ({what}, stop, kt): {'; '.join(f'{stage} {kt:g}' for stage, kt in stops.items())}"
            for x in lessons()
            if lesson in (None, x.key)
            for what, stops in [(_LESSON_STOPS[rule.code], getattr(x, f"{_LESSON_STOPS[rule.code]}_stop_kt"))]
        ]
    if rule.code == "GU04":
        row = data["own_cap"]["peak_with_spread"]
        out.append(f"peak_with_spread (both at once): peak {row['peak_kt']} kt, spread {row['spread_kt']} kt")
    return out


def explain_rule(rule: Rule) -> str:
    """Everything about one rule as text."""
    known = all_sources()
    # a heading of the docstring is a line with a rule of dashes under it: give each a line of air above
    doc = re.sub(r"\n(?=[^\n]+\n-{3,}\n)", "\n\n", inspect.cleandoc(rule.doc))
    scope = {"all": "all", "height": "those flown at height", "circle": "those that circle a mark"}.get(
        rule.scope, rule.scope
    )
    lines = [f"{rule.code} {rule.name} (family {rule.family}, lessons: {scope})", "", re.sub(r"\n{3,}", "\n\n", doc)]
    limits = limit_lines(rule)
    if limits:
        lines += ["", "Limits as shipped", "-----------------", *limits]
    if rule.worse:
        worse = ", ".join(f"{x[:-1]} {'larger' if x[-1] == '+' else 'smaller'}" for x in rule.worse)
        lines += ["", f"Never a better answer with, all else the same: {worse}."]
    if rule.calm_hazard:
        lines += ["", "A hazard of calm air: exempt from the law that more wind is never better."]
    lines += ["", "Sources", "-------"]
    lines += [f"{key}: {known[key].citation}" if key in known else key for key in rule.sources]
    return "\n".join(lines) + "\n"


def rule_json(rule: Rule) -> dict[str, Any]:
    """One rule as plain values."""
    return {
        "code": rule.code,
        "name": rule.name,
        "family": rule.family,
        "scope": rule.scope,
        "axes": rule.axes,
        "title": rule.title,
        "doc": inspect.cleandoc(rule.doc),
        "uses": list(rule.uses),
        "sources": list(rule.sources),
        "worse": list(rule.worse),
        "calm_hazard": rule.calm_hazard,
    }


@click.command("rules")
@click.argument("code", required=False)
@click.option("--format", "style", type=click.Choice(("text", "json")), default="text", help="[text]")
def command(code: str | None, style: str) -> None:
    """List every rule, or explain the one with CODE (or name)."""
    if style == "json":
        import json

        picked = [find_rule(code)] if code else list(all_rules())
        click.echo(json.dumps([rule_json(r) for r in picked], indent=2))
        return
    if code:
        click.echo(explain_rule(find_rule(code)), nl=False)
        return
    rows = rule_table()
    widths = [max(len(row[i]) for row in rows) for i in range(4)]
    for row in rows:
        click.echo("  ".join([*(row[i].ljust(widths[i]) for i in range(4)), row[4]]))
