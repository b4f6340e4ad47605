"""Network folders are recognised, and WAL is not used there."""

from __future__ import annotations

from pathlib import Path

import pytest

from soak.record import folder, store
from soak.record.folder import filesystem_of, is_network, on_network
from soak.record.load import load
from soak.record.store import Store
from soak.trace import Event

# Lines in the form of proc_pid_mountinfo(5): id parent major:minor root mount-point options optional... - type source
MOUNTS = """\
21 1 8:1 / / rw,relatime shared:1 - ext4 /dev/sda1 rw
22 21 0:20 / /srv/work\\040shop rw - nfs4 box:/export rw
23 22 8:2 / /srv/work\\040shop/local rw master:3 - vfat /dev/sdb1 rw
24 21 0:30 / /mnt rw - ext4 /dev/sdc1 rw
25 24 0:31 / /mnt rw - fuse.sshfs me@box:/ rw
damaged line
"""


@pytest.mark.parametrize(
    ("where", "kind", "network"),
    [
        ("/home/x", "ext4", False),
        ("/", "ext4", False),
        ("/srv/work shop", "nfs4", True),
        ("/srv/work shop/runs", "nfs4", True),
        ("/srv/work shopping", "ext4", False),
        ("/srv/work shop/local/runs", "vfat", False),
        ("/mnt/runs", "fuse.sshfs", True),  # the later mount hides the earlier one
    ],
)
def test_the_file_system_of_a_folder(where, kind, network):
    assert filesystem_of(where, MOUNTS) == kind
    assert is_network(kind) is network


def test_no_answer_is_not_a_network(tmp_path, monkeypatch):
    assert filesystem_of("/x", "") == ""
    assert not on_network(tmp_path / "x")
    monkeypatch.setattr(folder, "_MOUNTINFO", Path("/no/such/file"))
    assert not on_network(tmp_path / "x")


def test_no_wal_on_a_network_folder(path, header, clock, monkeypatch):
    mounts = path.parent / "mounts"
    mounts.write_text(f"1 0 0:1 / {path.parent} rw - nfs box:/ rw\n")
    monkeypatch.setattr(folder, "_MOUNTINFO", mounts)
    recorder = store.Store.create(path, header, clock)
    recorder.event(Event(1.0, "x", "info", ""))
    assert not path.with_name("one.soak-wal").exists()
    assert len(load(path).events) == 1
    recorder.leave()
    again = Store.reopen(path, clock)
    assert again._database is not None
    assert again._database.execute("PRAGMA journal_mode").fetchone() == ("delete",)
    again.close(2.0, "complete", {})
    mounts.unlink()
    assert [p.name for p in path.parent.iterdir()] == ["one.soak"]
