"""The house rules that a machine can check: sizes, imports, layers, words, what `soak --help` loads."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
MODULES = sorted([*ROOT.glob("soak/**/*.py"), *ROOT.glob("hw_sim/**/*.py")])
LONGEST = 300
TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "soak",
    "profiles",
    "tests",
    "hw_sim",
    "LICENSE",
    "CHANGELOG.md",
}


def name(path: Path) -> str:
    return str(path.relative_to(ROOT))


def imported(path: Path) -> set[str]:
    """Top-level names of what a module imports, anywhere in it."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
            found.add(node.module.split(".")[0])
    return found


@pytest.mark.parametrize("path", MODULES, ids=name)
def test_a_module_is_short_and_says_what_it_is_for(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert len(text.splitlines()) <= LONGEST
    assert ast.get_docstring(ast.parse(text)), "the first lines must say what the module is for"


@pytest.mark.parametrize("path", [p for p in MODULES if p.is_relative_to(ROOT / "soak")], ids=name)
def test_clock_units_and_posix_stay_in_their_rooms(path: Path) -> None:
    names, where = imported(path), name(path)
    if "time" in names:
        assert where == "soak/run/clock.py" or where.startswith(("soak/link/", "soak/shop/"))
    if "pint" in names:
        assert where == "soak/units.py"
    if "pydantic" in names:
        assert where.startswith("soak/job/")
    if names & {"termios", "tty", "pty", "fcntl"}:
        assert where == "soak/link/gone.py"
    if "serial" in names or "minimalmodbus" in names:
        assert where.startswith("soak/link/")
    if "sqlite3" in names:
        assert where.startswith("soak/record/")
    if "hw_sim" in names:
        pytest.fail("nothing in soak imports hw_sim")
    assert "random" not in names


def test_only_the_cli_prints() -> None:
    printing = {
        name(p)
        for p in MODULES
        for node in ast.walk(ast.parse(p.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "print"
    }
    assert printing <= {"soak/cli/output.py", "hw_sim/__main__.py"}


def test_layers() -> None:
    """import-linter, as its own command runs it: a wrong import fails here."""
    done = subprocess.run(
        [str(Path(sys.executable).parent / "lint-imports"), "--no-cache"], cwd=ROOT, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_help_loads_nothing_heavy() -> None:
    code = (
        "import sys\nfrom soak.cli.main import code_of\nassert code_of(['--help']) == 0\n"
        "print([m for m in ('numpy', 'scipy', 'pint', 'matplotlib', 'pydantic', 'serial') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"


def test_what_stands_at_the_top() -> None:
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True)
    if listed.returncode != 0:
        pytest.skip("not a git checkout")
    top = {line.split("/")[0] for line in listed.stdout.splitlines()}
    assert {t for t in top if not t.startswith(".")} <= TOP_LEVEL


def test_readme_opens_with_the_job_and_its_commands_exist() -> None:
    """Every soak command of the README is understood by the program (parsed, not run)."""
    from soak.cli.main import app

    text = (ROOT / "README.md").read_text(encoding="utf-8")
    first = text.split("\n\n")[1]
    assert first.startswith("A smith packs")
    commands = re.findall(
        r"^(?:.*/)?soak (.+?)(?:\s+#.*)?$", "\n".join(re.findall(r"```sh\n(.*?)```", text, re.S)), re.M
    )
    assert len(commands) >= 12
    import shlex

    for line in commands:
        app().parse_args(shlex.split(line))


def test_tests_have_no_packages_and_unique_names() -> None:
    files = list((ROOT / "tests").rglob("test_*.py"))
    assert not list((ROOT / "tests").rglob("__init__.py"))
    names = [f.name for f in files]
    assert len(names) == len(set(names))
