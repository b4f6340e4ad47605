"""Every way a job or profile can be wrong: code, file and key, what was read, what to write."""

import pytest

from soak.errors import JobError
from soak.job.find import shipped_folder
from soak.job.read import read_job, read_job_text

PLANE_IRONS = (shipped_folder() / "jobs" / "plane-irons.toml").read_text(encoding="utf-8")


def error_of(old, new):
    assert old in PLANE_IRONS
    with pytest.raises(JobError) as caught:
        read_job_text(PLANE_IRONS.replace(old, new, 1), "mine.toml")
    assert caught.value.exit_code == 3
    return caught.value


THICK = 'thickness = "4 mm"'
IRON = '"lock-gate-strap"'
PACK = '"charcoal-soda-lime"'
BOX = '"box-96x64"'
OVEN = '"bench-20l"'
CONTROLLER = '"int-tenths"'

WRONG = [
    # misspelt, missing
    (
        THICK,
        'thikness = "4 mm"',
        "unknown-key",
        'mine.toml, stock[1]: unknown key "thikness"',
        "did you mean thickness?",
    ),
    ("[limits]", "[limit]", "unknown-key", 'mine.toml: unknown key "limit"', "did you mean limits?"),
    (THICK, 'diameter = "4 mm"', "unknown-key", 'unknown key "diameter"', "did you mean thickness?"),
    (THICK, "zzz = 1", "unknown-key", 'unknown key "zzz" (and 1 more after this one)', "known here: iron, shape"),
    (THICK, "", "missing-key", 'mine.toml, stock[1]: "thickness" is missing', 'add thickness = "4 mm"'),
    (f"oven = {OVEN}", "", "missing-key", 'mine.toml, use: "oven" is missing', 'add oven = "a profile\'s name"'),
    ('width = "32 mm"', "", "missing-key", "width is missing: a strip has one", 'add width = "32 mm"'),
    ('carbon = "0.85 %"', "", "missing-key", "mine.toml, target: carbon is missing", 'add carbon = "0.85 %"'),
    ("[target]", "[other]", "unknown-key", 'unknown key "other"', "known here: title, target"),
    # units and sizes
    (THICK, "thickness = 4", "unit-missing", "stock[1].thickness: read the bare number 4", 'write for example "4 mm"'),
    (THICK, 'thickness = "4 kg"', "wrong-dimension", 'read "4 kg", a mass, where a length belongs', '"4 mm"'),
    (THICK, "thickness = nan", "not-a-number", "read nan, which is not a finite number", '"4 mm"'),
    (THICK, 'thickness = "-4 mm"', "out-of-range", 'read "-4 mm", outside what is sensible here (0.2 mm to', '"4 mm"'),
    (THICK, 'thickness = "250 mm"', "out-of-range", "(0.2 mm to 200 mm)", '"4 mm"'),
    ('"180 mm"', '"2.1 m"', "out-of-range", 'stock[1].length: read "2.1 m", outside', '"180 mm"'),
    ('"1020 degC"', '"1020 C"', "unknown-unit", 'limits.temperature_max: read "1020 C"', '"1020 degC"'),
    ('"1020 degC"', '"1200 degC"', "out-of-range", "(20 degC to 1150 degC)", '"1020 degC"'),
    ('"0.85 %"', '"2.5 %"', "out-of-range", 'target.carbon: read "2.5 %", outside', '"0.85 %"'),
    ('"14 h"', '"2 min"', "out-of-range", "limits.heat_on_max", '"12 h"'),
    ("count = 8", "count = 0", "out-of-range", "stock[1].count: read 0, which is not at least 1", "count = 8"),
    ("count = 8", "count = 501", "out-of-range", "read 501, which is not at most 500", "count = 8"),
    ("count = 8", 'count = "8"', "wrong-type", 'read "8", which is not a valid integer', "count = 8"),
    ("count = 8", "count = true", "wrong-type", "read true, which is not a valid integer", "count = 8"),
    ('width = "32 mm"', 'width = "3 mm"', "sides-swapped", "stock[1]: width is below thickness", "swap the two"),
    # choices and shapes
    ('"mean"', '"middle"', "unknown-choice", 'target.where: read "middle", which is none of', "'centre' or 'depth'"),
    ('shape = "strip"', 'shape = "bar"', "unknown-choice", 'read "bar", which is none of', "'strip', 'round'"),
    ('shape = "strip"', 'shape = "square"', "width-unused", "stock[1]: a square bar has no width", "its side"),
    ('shape = "strip"', 'shape = "round"', "width-unused", "stock[1]: a round bar has no width", "drop width"),
    ('where = "mean"', 'where = "depth"', "depth-missing", "without a depth", 'add depth = "1.0 mm"'),
    ('where = "mean"', 'depth = "1 mm"', "depth-unused", 'a depth is given, but where = "mean"', 'where = "depth"'),
    # tables
    ("[[stock]]", "[stock]", "wrong-type", "mine.toml, stock: needs a list", "write [[stock]], with two brackets"),
    (
        "[packing]",
        "[[packing]]",
        "wrong-type",
        "mine.toml, packing: read [{",
        "where a table belongs | write [packing]",
    ),
    # formats
    ("format = 1", "", "format-missing", "mine.toml: format is missing", "add format = 1 as the first line"),
    ("format = 1", "format = 2", "format-newer", "format: read 2; this soak reads up to 1", "update soak"),
    ("format = 1", 'format = "1"', "wrong-type", "read '1', which is no format", "write format = 1"),
    # TOML itself
    (THICK, "thickness = 4 mm", "toml-syntax", "mine.toml, line 13: not TOML", 'thickness = "4 mm"'),
    ("[target]", "[target", "toml-syntax", "mine.toml, line 4: not TOML: expected ']'", "stand in quotes"),
    ("title = ", "title = 'x'\ntitle = ", "toml-syntax", "line 3: not TOML: cannot overwrite a value", "in quotes"),
    # profiles by name
    (IRON, '"lock-gate-strop"', "unknown-profile", 'stock[1].iron: there is no iron called "lock-gate-strop"', "strap"),
    (IRON, '"zzz"', "unknown-profile", 'there is no iron called "zzz" in', "known here: lock-gate-bolt,"),
    (OVEN, '"bench-20"', "unknown-profile", "use.oven: there is no oven", "did you mean bench-20l"),
    (IRON, '"./none.toml"', "file-missing", "stock[1].iron: none.toml: there is no such file", "check the path"),
    (IRON, "3", "wrong-type", "stock[1].iron: read 3, where a profile belongs", "lock-gate-strap"),
    (IRON, '""', "wrong-type", "stock[1].iron: read '', where a profile belongs", "an inline table"),
    (OVEN, '"gas-forge"', "no-controller", "use.controller: gas-forge has no controller", 'controller = "none"'),
    # inline iron and pack
    (IRON, "{ }", "missing-key", 'stock[1].iron: "composition" is missing', "add composition = { ... }"),
    (
        IRON,
        '{ composition = { Pb = "0.2 %" } }',
        "unknown-key",
        'stock[1].iron.composition: unknown key "Pb"',
        "known here: C, P, Si, Mn, Cr, Ni, Cu, S",
    ),
    (IRON, '{ composition = { C = "3 %" } }', "out-of-range", "stock[1].iron.composition.C", "(0 % to 2 %)"),
    (IRON, '{ composition = "soft" }', "wrong-type", 'read "soft", where a table belongs', "[composition]"),
    (PACK, '{ energizer = { Li2CO3 = "5 %" } }', "unknown-key", 'unknown key "Li2CO3"', "known here: CaCO3"),
    (PACK, '{ grain = "30 mm" }', "out-of-range", "use.pack.grain", "(1 mm to 10 mm)"),
    (PACK, '{ reuse = "50 %" }', "reuse-unclear", "use.pack: reuse and uses belong together", "uses = 3"),
    (PACK, "{ surface = { } }", "surface-unclear", "use.pack.surface: needs exactly one of", 'carbon = "1.2 %"'),
    (
        PACK,
        '{ surface = { carbon = "1 %", activity = 0.9 } }',
        "surface-unclear",
        "needs exactly one of carbon, activity, potential",
        "{ activity = 0.9 }",
    ),
    (PACK, '{ surface = { potential = "1 %" } }', "surface-unclear", "a carbon potential and beta belong", "beta ="),
    (PACK, "{ surface = { activity = -1.0 } }", "out-of-range", "activity: read -1.0, which is not above 0", "0.9"),
]


@pytest.mark.parametrize(("old", "new", "code", "text", "hint"), WRONG)
def test_said_in_words(old, new, code, text, hint):
    error = error_of(old, new)
    assert error.code == code
    said = f"{error.text} | {error.hint}"
    assert text in error.text
    assert hint in said
    assert "mine.toml" in error.text
    assert error.hint


def test_unknown_key_and_profile_offer_the_nearest_to_programs():
    assert error_of(THICK, 'thikness = "4 mm"').nearest == {"keys": ["thickness"]}
    assert error_of(IRON, '"lock-gate-strop"').nearest == {"names": ["lock-gate-strap", "lock-gate-bolt"]}


def test_entries_count_from_one():
    second = PLANE_IRONS.replace("[packing]", '[[stock]]\niron = "mild-steel"\nshape = "strip"\n\n[packing]', 1)
    with pytest.raises(JobError, match=r"stock\[2\]"):
        read_job_text(second, "mine.toml")


VENT = ', vent = { kind = "hole", diameter = "3 mm" }'
SIZES = 'width = "90 mm", height = "60 mm", length = "200 mm", wall = "4 mm"'
CANISTER = f'{{ form = "box", material = "steel", {SIZES}{VENT} }}'


@pytest.mark.parametrize(
    ("old", "new", "code", "text"),
    [
        ('height = "60 mm", ', "", "canister-size", "use.canister: does not say the size of a box"),
        ('"box"', '"pipe"', "canister-size", "use.canister: does not say the size of a pipe"),
        ('wall = "4 mm"', 'wall = "31 mm"', "canister-size", "use.canister: walls leave no room inside"),
        ('"steel"', '"stel"', "unknown-choice", "use.canister.material: read \"stel\", which is none of 'steel'"),
        (VENT, "", "missing-key", 'use.canister: "vent" is missing'),
        (VENT, ', vent = { kind = "hole" }', "vent-unclear", "does not say the size of a vent of kind hole"),
        (VENT, ', vent = { kind = "tube", diameter = "3 mm" }', "vent-unclear", "of a vent of kind tube"),
        ('width = "90 mm"', 'width = "500 mm"', "out-of-range", "use.canister.width"),
    ],
)
def test_canisters(old, new, code, text):
    assert old in CANISTER
    error = error_of(BOX, CANISTER.replace(old, new, 1))
    assert (error.code, text in error.text) == (code, True), error.text


def own_profile(tmp_path, kind, name, old, new):
    """The error of plane-irons with a changed copy of a shipped profile in the shop."""
    text = (shipped_folder() / f"{kind}s" / f"{name}.toml").read_text(encoding="utf-8")
    assert old in text
    folder = tmp_path / "profiles" / f"{kind}s"
    folder.mkdir(parents=True)
    (folder / f"{name}.toml").write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(JobError) as caught:
        read_job("plane-irons", tmp_path)
    assert str(folder / f"{name}.toml") in caught.value.text  # the profile's own file is named, not the job's
    return caught.value


@pytest.mark.parametrize(
    ("kind", "name", "old", "new", "code", "text"),
    [
        ("oven", "bench-20l", '"3.6 kW"', "3600", "unit-missing", "power: read the bare number 3600"),
        ("oven", "bench-20l", 'at = "600 degC"', 'at = "10 h"', "wrong-dimension", "ramp[2].at: read"),
        ("oven", "bench-20l", 'at = "600 degC"', 'at = "990 degC"', "table-order", "ramp: temperatures do not rise"),
        ("oven", "bench-20l", "ramp = [", "ramp = []\nx = [", "unknown-key", 'unknown key "x"'),
        ("oven", "bench-20l", "format = 1", "format = 7", "format-newer", "format: read 7"),
        ("iron", "lock-gate-strap", 'how = "judgement"', 'how = "guess"', "unknown-choice", "source.composition.how"),
        ("controller", "int-tenths", "at = 3", "at = 70000", "out-of-range", "signal.output_pct.at: read 70000"),
        ("controller", "int-tenths", "[signal.output_pct]", "[signal.out]", "unknown-key", 'unknown key "out"'),
        ("controller", "int-tenths", "at = 1\nkind", "at = 0\nkind", "signal-unclear", "lie at the same address, 0"),
        ("controller", "int-tenths", "write = true", "write = false", "signal-unclear", "not marked as writable"),
        (
            "controller",
            "int-tenths",
            "write = true",
            'write = true\nspace = "input"',
            "signal-unclear",
            "cannot be written: it is an input register",
        ),
        ("controller", "int-tenths", '"0.6 s"', '"0.3 s"', "reply-times", "worst_reply is below twice reply_timeout"),
        ("controller", "int-tenths", '0 = "idle"', 'a = "idle"', "wrong-type", 'read "a", where a run state'),
        ("controller", "int-tenths", "write_with = 16", "write_with = 5", "unknown-choice", "write_with: read 5"),
    ],
)
def test_profiles(tmp_path, kind, name, old, new, code, text):
    error = own_profile(tmp_path, kind, name, old, new)
    assert (error.code, text in error.text) == (code, True), error.text


def test_unknown_job():
    with pytest.raises(JobError, match='there is no job called "plane-iron" in') as caught:
        read_job("plane-iron", None)
    assert caught.value.code == "unknown-job"
    assert "did you mean plane-irons" in caught.value.hint


@pytest.mark.parametrize(
    ("data", "code", "text"),
    [
        (b"title = '\xff'", "file-unreadable", "line 1: is not UTF-8 text"),
        (b"a = 1\n\nb = '\xff'", "file-unreadable", "line 3: is not UTF-8 text"),
        (b"#" * 1_000_001, "file-unreadable", "is no job or profile (1 MB at most)"),
        (b"", "format-missing", "format is missing"),
        (b"title =", "toml-syntax", "line 1: not TOML: invalid value"),
    ],
)
def test_files_that_are_no_job(tmp_path, data, code, text):
    path = tmp_path / "mine.toml"
    path.write_bytes(data)
    with pytest.raises(JobError) as caught:
        read_job(str(path), None)
    assert caught.value.code == code
    assert str(path) in caught.value.text
    assert text in caught.value.text


def test_a_missing_file_a_folder_a_pipe(tmp_path):
    import os

    os.mkfifo(tmp_path / "pipe.toml")  # reading it would wait for ever
    for path, code, text in [
        (tmp_path / "none.toml", "file-missing", "there is no such file"),
        (tmp_path / "x.toml" / "y.toml", "file-missing", "there is no such file"),
        ("~nobody-of-that-name/y.toml", "file-missing", "there is no such file"),
        (tmp_path, "file-unreadable", "is a folder, not a file"),
        (tmp_path / "pipe.toml", "file-unreadable", "is no job or profile"),
    ]:
        with pytest.raises(JobError, match=text) as caught:
            read_job(str(path), None)
        assert caught.value.code == code


def test_a_file_nobody_may_read(tmp_path):
    import os

    path = tmp_path / "mine.toml"
    path.write_text(PLANE_IRONS, encoding="utf-8")
    path.chmod(0)
    if os.access(path, os.R_OK):
        pytest.skip("this user reads everything")
    with pytest.raises(JobError, match="cannot be read"):
        read_job(str(path), None)


def test_a_path_too_long_for_any_disk():
    with pytest.raises(JobError, match="cannot be read"):
        read_job("/" + "a" * 5000 + ".toml", None)


def test_a_tube_needs_a_bore() -> None:
    """A tube's thickness is its wall, its width the outside diameter."""
    text = PLANE_IRONS.replace('shape = "strip"', 'shape = "tube"', 1).replace(THICK, 'thickness = "20 mm"', 1)
    with pytest.raises(JobError, match="the wall leaves no bore") as caught:
        read_job_text(text, "mine.toml")
    assert caught.value.code == "no-bore"
    assert 'shape = "round"' in caught.value.hint
