"""What kind of drive a folder lies on."""

from __future__ import annotations

import os
from pathlib import Path

NETWORK_KINDS = frozenset(
    {
        "9p", "afpfs", "afs", "beegfs", "ceph", "cifs", "fuse.ceph", "fuse.davfs", "fuse.davfs2",
        "fuse.glusterfs", "fuse.gvfsd-fuse", "fuse.rclone", "fuse.s3fs", "fuse.smbnetfs",
        "fuse.sshfs", "glusterfs", "gpfs", "lustre", "ncpfs", "nfs", "nfs4", "smb2", "smb3",
        "smbfs", "vboxsf", "virtiofs", "vmhgfs", "fuse.vmhgfs-fuse", "webdav",
    }
)  # fmt: skip
"""File systems that other machines write to as well: shared memory does not reach those."""


def is_network_folder(folder: Path) -> bool:
    """True when the folder lies on a drive that is shared over a network, as far as is known."""
    import psutil

    try:
        drives = psutil.disk_partitions(all=True)
    except (OSError, RuntimeError):  # no list of drives here; it is an ordinary one, then
        return False
    return kind_is_network(
        os.path.realpath(folder), [(d.mountpoint, d.fstype, d.opts) for d in drives]
    )


def kind_is_network(folder: str, drives: list[tuple[str, str, str]]) -> bool:
    """The same, from the list of drives: mount point, file system and options of each."""
    holding = [drive for drive in drives if _holds(drive[0], folder)]
    if not holding:
        return False
    # The last of the longest: a drive mounted over another hides that one.
    longest = max(len(drive[0]) for drive in holding)
    _, kind, options = [drive for drive in holding if len(drive[0]) == longest][-1]
    return kind.lower() in NETWORK_KINDS or "remote" in options.split(",")


def _holds(mount: str, folder: str) -> bool:
    edge = mount if mount.endswith(os.sep) else mount + os.sep
    return folder == mount or folder.startswith(edge)
