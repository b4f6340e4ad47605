"""`soak`: the command line. Each verb is loaded only when it is called."""

from __future__ import annotations

import errno
import os
import sys

from cyclopts import App, CycloptsError

from soak import __version__
from soak.cli.output import emit_error, say_err
from soak.errors import SoakError, UsageError

VERBS = {
    "plan": ("soak.cli.plan:plan", "Segments, predicted carbon with its band, canister, pack, warnings."),
    "predict": ("soak.cli.predict:predict", "What carbon a temperature record made."),
    "dry-run": ("soak.cli.dry_run:dry_run", "The same loop as a real run, on the simulated oven and controller."),
    "run": ("soak.cli.run:run", "The real thing, attended. Asks before heat."),
    "runs": ("soak.cli.runs:runs", "The shop's run files."),
    "show": ("soak.cli.runs:show", "One run in short."),
    "report": ("soak.cli.runs:report", "One run as a page to file with the batch (HTML)."),
    "export": ("soak.cli.runs:export", "One run as CSV files or JSON."),
    "note": ("soak.cli.note:note", "Write down what was seen, weighed, opened."),
    "canister": ("soak.cli.canister:canister", "How much of a canister is used up, and how many soaks are left."),
    "profiles": ("soak.cli.profiles:profiles", "Irons, packs, canisters, ovens, controllers and jobs known here."),
}

NOBODY_READS = (errno.EPIPE, errno.EIO)  # stdout's pipe was closed, or its terminal hung up


def app() -> App:
    """The program with its verbs."""
    soak = App(
        name="soak",
        help="Plans, runs, watches and records the soak of a sealed carburizing canister.\n\n"
        "Supervision, not a safety device: fit an independent over-temperature limiter and a CO alarm.",
        version=__version__,
        exit_on_error=False,
        print_error=False,
        suppress_keyboard_interrupt=False,
        result_action="return_value",
    )
    for name, (where, text) in VERBS.items():
        soak.command(where, name=name, help=text)
    return soak


def main(words: list[str] | None = None) -> None:
    """Run the command line and leave the process with its exit code."""
    words = sys.argv[1:] if words is None else words
    sys.exit(code_of(words))


def code_of(words: list[str]) -> int:
    """Exit codes: 0 done, 1 bug, 2 usage, 3 job or profile, 4 plan, 5 link, 6 guard, 7 record, 130 and 143 stopped."""
    as_json = "--json" in words
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # the systems here are small: threads only cost time
    try:
        outcome = app()(words)
    except SoakError as error:
        emit_error(error, as_json)
        return error.exit_code
    except CycloptsError as error:
        emit_error(UsageError("usage", str(error), "soak --help, or soak VERB --help"), as_json)
        return UsageError.exit_code
    except OSError as error:
        if error.errno not in NOBODY_READS:
            raise
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except KeyboardInterrupt:
        say_err("soak: stopped")
        return 130
    return outcome if isinstance(outcome, int) else 0
