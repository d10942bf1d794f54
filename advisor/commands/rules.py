"""``advisor rules``: the catalogue, or one rule explained."""

from __future__ import annotations

import inspect
from typing import Any

import click

from advisor.limits import STAGES, shipped_pair, table
from advisor.rules.registry import Rule, all_rules, find_rule
from advisor.sources import sources as all_sources


def rule_table() -> list[tuple[str, str, str, str, str]]:
    """Code, name, family, scope and what is noticed, for every rule."""
    return [(r.code, r.name, r.family, r.scope, r.title) for r in all_rules()]


def limit_lines(rule: Rule) -> list[str]:
    """Limits a rule uses, by stage, as shipped."""
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
    return out


def explain_rule(rule: Rule) -> str:
    """Everything about one rule as text."""
    known = all_sources()
    lines = [f"{rule.code} {rule.name} (family {rule.family}, lessons: {rule.scope})", "", inspect.cleandoc(rule.doc)]
    limits = limit_lines(rule)
    if limits:
        lines += ["", "Limits as shipped", "-----------------", *limits]
    if rule.worse:
        lines += ["", f"Never better when worse: {', '.join(rule.worse)} (+ larger is worse, - smaller is worse)"]
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
