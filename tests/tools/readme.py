"""Write the generated blocks of README.md: ``python -m tests.tools.readme`` (``--check`` only compares)."""

from __future__ import annotations

import re
import sys
from pathlib import Path

README = Path(__file__).parent.parent.parent / "README.md"


def rules_block() -> str:
    """The table of rules, from the catalogue."""
    from advisor.rules.registry import all_rules

    lines = ["| code | notices | family | lessons |", "|---|---|---|---|"]
    for r in all_rules():
        lines.append(f"| {r.code} | {r.name}: {r.title} | {r.family} | {r.scope} |")
    return "\n".join(lines)


BLOCKS = {"rules": rules_block}


def rendered(text: str) -> str:
    """README with every block made anew."""
    for name, make in BLOCKS.items():
        pattern = rf"(<!-- block: {name} -->\n).*?(<!-- end block: {name} -->)"
        body = make()
        text = re.sub(pattern, lambda m, b=body: f"{m[1]}{b}\n{m[2]}", text, flags=re.S)
    return text


def main() -> int:
    """0 when README is (now) as the code says, 1 when ``--check`` finds it stale."""
    text = README.read_text("utf-8")
    new = rendered(text)
    if "--check" in sys.argv:
        return int(text != new)
    README.write_text(new, "utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
