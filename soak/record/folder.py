"""Whether a folder lies on a network: SQLite's WAL needs memory shared by all who open the file. Reads mountinfo."""

from __future__ import annotations

import os
from pathlib import Path

# seen: fs types as the Linux kernel and its helpers name them in mountinfo; fuse.* may be anything, so: no WAL.
_NETWORK = frozenset({"nfs", "nfs4", "cifs", "smb3", "smbfs", "9p", "afs", "ceph", "glusterfs", "davfs"})
_MOUNTINFO = Path("/proc/self/mountinfo")


def filesystem_of(folder: str, mountinfo: str) -> str:
    """The file system type of an absolute `folder`, from the text of /proc/self/mountinfo; "" if it names none."""
    found, best = "", -1
    for line in mountinfo.splitlines():
        mount, _, source = line.partition(" - ")
        fields, kind = mount.split(" "), source.split(" ")[0]
        if len(fields) < 5 or not kind:
            continue
        point = fields[4].replace("\\040", " ").rstrip("/")
        if (folder == point or folder.startswith(point + "/")) and len(point) >= best:
            found, best = kind, len(point)
    return found


def is_network(filesystem: str) -> bool:
    return filesystem in _NETWORK or filesystem.startswith("fuse.")


def on_network(path: Path) -> bool:
    """Whether the file `path` lies in a network folder, as far as this system tells."""
    folder = os.path.realpath(path.parent)
    if folder.startswith("\\\\"):  # a share, as Windows writes it
        return True
    try:
        return is_network(filesystem_of(folder, _MOUNTINFO.read_text()))
    except OSError:
        return False
