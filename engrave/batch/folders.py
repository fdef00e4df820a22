"""A folder of its own for every score, told from its name alone."""

from __future__ import annotations

import hashlib
import unicodedata
from collections import Counter
from collections.abc import Collection

__all__ = ["result_folders"]


def result_folders(names: Collection[str], taken: Collection[str] = ()) -> dict[str, str]:
    """The folder of each score's results: the score's own name, its suffix included.

    So ``a/x.xml``, ``b/x.xml`` and ``a/x.mxl`` stay apart, and a score that joins the catalogue
    moves no other. Where file systems would take two names for one (capitals, composed and
    decomposed letters), where one lies in the other, or where it is one of ``taken``, a digest of
    the name is added.

    >>> result_folders(["a/x.xml", "a/x.mxl"])
    {'a/x.xml': 'a/x.xml', 'a/x.mxl': 'a/x.mxl'}
    """
    alike = Counter(_as_a_disk_reads(name) for name in names)
    inner = {
        "/".join(parts[:depth])
        for parts in (_as_a_disk_reads(name).split("/") for name in names)
        for depth in range(1, len(parts))
    }
    kept = {_as_a_disk_reads(name) for name in taken}
    folders = {}
    for name in names:
        read = _as_a_disk_reads(name)
        clash = alike[read] > 1 or read in inner or read.split("/")[0] in kept
        folders[name] = f"{name}~{_digest(name)}" if clash else name
    return folders


def _as_a_disk_reads(name: str) -> str:
    return unicodedata.normalize("NFC", name).casefold()


def _digest(name: str) -> str:
    return hashlib.sha256(name.encode("utf-8", "surrogateescape")).hexdigest()[:8]
