"""One tree of errors, each turned into a sentence and an exit status in one place."""

from __future__ import annotations

import errno
import inspect
import os
import subprocess
import sys
from importlib.machinery import ModuleSpec
from importlib.util import find_spec
from types import ModuleType

import click
import pytest

from advisor import cli, errors

OWN = [e for _, e in inspect.getmembers(errors, inspect.isclass) if e.__module__ == "advisor.errors"]


def test_every_error_is_an_advisor_error_and_says_what_it_means():
    offenders = [e.__name__ for e in OWN if not issubclass(e, errors.AdvisorError) or not e.__doc__]
    assert not offenders


def test_none_hides_among_the_built_in_errors():
    """``except ValueError`` around our own calls must not swallow a refusal."""
    offenders = [e.__name__ for e in OWN if issubclass(e, ValueError | LookupError | OSError | ArithmeticError)]
    assert not offenders


def test_decode_error_carries_the_report_and_the_group():
    error = errors.DecodeError("the wind cannot be read", "XBRK 251753Z 370//KT", "370//KT")
    assert str(error) == "the wind cannot be read"
    assert (error.text, error.group) == ("XBRK 251753Z 370//KT", "370//KT")


@pytest.fixture
def command(monkeypatch: pytest.MonkeyPatch):
    """Make ``advisor planted`` do what the test wants, through the real lazy group and the real error map."""

    def plant(action):
        @click.command()
        @click.option("--count", type=int)
        def planted(count):
            return action()

        module = ModuleType("planted_for_a_test")
        module.command = planted
        module.__spec__ = ModuleSpec("planted_for_a_test", None)
        monkeypatch.setitem(sys.modules, "planted_for_a_test", module)
        monkeypatch.setitem(cli.COMMANDS, "planted", ("planted_for_a_test:command", "Help."))

    return plant


def raiser(error: BaseException):
    def action():
        raise error

    return action


@pytest.mark.parametrize(
    ("error", "status", "said"),
    [
        (
            errors.UnknownStation("no station ZZZZ; check the letters"),
            1,
            "advisor: no station ZZZZ; check the letters\n",
        ),
        (errors.DataFileError("two faults:\n  a: x\n  b: y"), 1, "advisor: two faults:\n  a: x\n  b: y\n"),
        (errors.DecodeError("odd \x1b[31mreport\x07", "x"), 1, "advisor: odd ?[31mreport?\n"),
        (click.UsageError("give a station or --demo"), 2, "Error: give a station or --demo\n"),
        (click.BadParameter("no such hour"), 2, "Invalid value: no such hour\n"),
        (KeyboardInterrupt(), 130, "Interrupted.\n"),
        (click.Abort(), 130, "Interrupted.\n"),
        (BrokenPipeError(32, "Broken pipe"), 141, ""),
        (
            OSError(errno.ENOSPC, "No space left on device"),
            1,
            "advisor: The answer could not be written: No space left on device. Make room, or write it elsewhere.\n",
        ),
        (SystemExit(3), 3, ""),
        (SystemExit("a sentence"), 1, "advisor: a sentence\n"),
        (SystemExit(None), 0, ""),
    ],
    ids=lambda x: type(x).__name__ if isinstance(x, BaseException) else None,
)
def test_each_error_has_its_status_and_its_sentence(command, capsys, error, status, said):
    command(raiser(error))
    assert cli.run(["planted"]) == status
    out, err = capsys.readouterr()
    assert out == ""
    assert err.strip() == said.strip() or err.endswith(said)


@pytest.mark.parametrize(
    "error",
    [KeyError("x"), OSError(errno.EBADF, "Bad file"), RecursionError(), ZeroDivisionError("a\nb"), UnicodeError("é")],
)
def test_an_unexpected_error_is_one_line_and_no_traceback(command, capsys, error):
    command(raiser(error))
    assert cli.run(["planted"]) == 1
    err = capsys.readouterr().err
    assert err.count("\n") == 1
    assert "Traceback" not in err
    assert type(error).__name__ in err
    assert "report it" in err


def test_debug_lets_the_error_through(command, monkeypatch):
    monkeypatch.setenv("ADVISOR_DEBUG", "1")
    command(raiser(KeyError("x")))
    with pytest.raises(KeyError):
        cli.run(["planted"])


@pytest.mark.parametrize(("returned", "status"), [(None, 0), (0, 0), (1, 1), ("text", 0)])
def test_a_command_may_return_its_status(command, returned, status):
    command(lambda: returned)
    assert cli.run(["planted"]) == status


@pytest.mark.parametrize("args", [["--nonsense"], [], ["planted", "--count", "x"], ["planted", "extra"]])
def test_wrong_usage_is_status_2_with_a_hint(command, capsys, args):
    command(lambda: None)
    assert cli.run(args) == 2
    assert "Usage:" in capsys.readouterr().err


def run_advisor(*args: str, **more) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "advisor", *args]
    return subprocess.run(command, capture_output=True, text=True, encoding="utf-8", timeout=60, **more)


def test_help_names_every_command_and_imports_none():
    script = (
        "import sys\nfrom advisor import cli\nstatus = cli.run(['--help'])\n"
        "print(sorted(m for m in sys.modules if m.startswith('advisor.commands.')))\nsys.exit(status)"
    )
    result = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, timeout=60)
    assert result.returncode == 0
    shown, imported = result.stdout.rsplit("\n", 2)[:2]
    assert imported == "[]"
    here = [name for name, (target, _) in cli.COMMANDS.items() if find_spec(target.partition(":")[0])]
    assert [name for name in here if f"  {name} " not in shown] == []


@pytest.mark.parametrize("name", [n for n, (t, _) in cli.COMMANDS.items() if find_spec(t.partition(":")[0])])
def test_every_command_loads_and_helps(name, capsys):
    assert cli.run([name, "--help"]) == 0
    assert f"advisor {name}" in capsys.readouterr().out


def test_shell_completion_offers_the_commands():
    environment = {
        **os.environ,
        "_ADVISOR_COMPLETE": "bash_complete",
        "COMP_WORDS": "advisor ",
        "COMP_CWORD": "1",
    }
    result = run_advisor(env=environment)
    here = [name for name, (target, _) in cli.COMMANDS.items() if find_spec(target.partition(":")[0])]
    assert [name for name in here if name not in result.stdout] == []
    assert (result.returncode, result.stderr) == (0, "")


def test_the_real_command_in_its_own_process():
    version = run_advisor("--version")
    assert (version.returncode, version.stderr) == (0, "")
    assert version.stdout.startswith("advisor ")
    unknown = run_advisor("nonsense")
    assert unknown.returncode == 2
    assert "No such command 'nonsense'" in unknown.stderr


def test_a_reader_that_goes_away_is_no_fault():
    """`advisor --help | true`: quiet, and not status 0 or 1."""
    read, write = os.pipe()
    os.close(read)
    process = subprocess.run(
        [sys.executable, "-m", "advisor", "--help"], stdout=write, stderr=subprocess.PIPE, timeout=60
    )
    os.close(write)
    assert (process.returncode, process.stderr) == (141, b"")


@pytest.mark.skipif(os.name != "posix", reason="closes streams as a POSIX shell does")
@pytest.mark.parametrize(
    ("closed", "status", "said"),
    [("<&-", 1, b"advisor: The text holds no report: it is empty."), (">&-", 1, b"it is empty"), ("2>&-", 1, b"")],
)
def test_a_stream_closed_from_the_start_is_an_empty_one(closed: str, status: int, said: bytes):
    command = f'exec "$0" -m advisor day XBRK --from-file - {closed}'
    done = subprocess.run(
        ["/bin/sh", "-c", command, sys.executable], input=b"", capture_output=True, timeout=60, check=False
    )
    assert done.returncode == status
    assert said in done.stderr
    assert b"Traceback" not in done.stderr
    assert b"fault of the program" not in done.stderr


def test_a_terminal_without_unicode_gets_plain_letters():
    result = run_advisor("--help", env={**os.environ, "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"})
    assert (result.returncode, result.stderr) == (0, "")
