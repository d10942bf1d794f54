"""Pages kept in ``fixtures/expected`` so that a change of wording or drawing is seen: ``python -m tests.tools.pages``."""

from __future__ import annotations

import contextlib
import io
import sys
import tempfile
from pathlib import Path

EXPECTED = Path(__file__).parent.parent.parent / "fixtures" / "expected"
_LESSON = ("--stage", "post-solo", "--at", "11:00")
#: File -> the command whose output it is; a figure is taken from the folder the command writes.
KEPT: dict[str, tuple[str, ...]] = {
    "day_solo.txt": ("day", "XSND", "--stage", "solo"),
    "day_storms.txt": ("day", "XBRK", "--stage", "pre-solo"),
    "day_all_stages.txt": ("day", "XHLW"),
    "lesson_circle.txt": ("lesson", "turns-around-a-point", "XSND", *_LESSON),
    "s-turns-plan.svg": ("lesson", "s-turns", "XSND", *_LESSON, "--format", "svg"),
    "turns-around-a-point-bank.svg": ("lesson", "turns-around-a-point", "XSND", *_LESSON, "--format", "svg"),
    "rectangular-course-plan.svg": ("lesson", "rectangular-course", "XSND", *_LESSON, "--format", "svg"),
}


def made(name: str, folder: Path) -> str:
    """A page as the command makes it now."""
    from advisor.cli import run

    out = io.StringIO()
    arguments = list(KEPT[name])
    if name.endswith(".svg"):
        arguments += ["--out", str(folder / "figures")]
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(io.StringIO()):
        status = run(arguments)
    if status != 0:
        raise RuntimeError(f"advisor {' '.join(arguments)} ended with {status}")
    return (folder / "figures" / name).read_text("utf-8") if name.endswith(".svg") else out.getvalue()


def main() -> int:
    """Write every kept page anew."""
    with tempfile.TemporaryDirectory() as folder:
        for name in KEPT:
            (EXPECTED / name).write_text(made(name, Path(folder)), "utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
