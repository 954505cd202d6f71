"""Files are written whole or not at all.

Everything is made in a hidden folder inside the target (the same disk, so that a rename is one
step), flushed, and only then put in place. Whatever goes wrong, the folder is as it was.
"""

from __future__ import annotations

import contextlib
import os
import secrets
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from layout3d.errors import RequestError
from layout3d.exporters import manifest
from layout3d.exporters.manifest import Entry


@dataclass(frozen=True, slots=True)
class Outcome:
    """File names written and removed, and what the user should know."""

    written: tuple[str, ...]
    removed: tuple[str, ...]
    notes: tuple[str, ...]


def write_whole(folder: Path, fill: Callable[[Path], None], *, scene: str, fingerprint: str) -> Outcome:
    """Let ``fill`` write files into an empty folder, then put them all into ``folder``.

    Files of an earlier state of the same scene that this tool wrote and nobody changed are
    removed; all others stay. RequestError, and no change, where anything cannot be written.
    """
    try:
        with _made(folder), _stage(folder) as stage:
            new, backup = stage / "new", stage / "old"
            new.mkdir()
            backup.mkdir()
            fill(new)
            return _put_in_place(folder, new, backup, scene, fingerprint)
    except OSError as error:
        raise RequestError(f"cannot write to {folder}: {_reason(error)}; nothing was changed") from error


def write_file(path: Path, content: bytes) -> None:
    """Write one file, replacing what was there. RequestError, and no change, where it cannot be written."""
    if path.is_dir():
        raise RequestError(f"cannot write {path}: it is a folder; give a file name")
    draft = path.parent / f".{path.name}.{secrets.token_hex(4)}"
    try:
        with _made(path.parent):
            try:
                draft.write_bytes(content)
                _flush(draft)
                os.replace(draft, path)
            finally:
                draft.unlink(missing_ok=True)
    except OSError as error:
        raise RequestError(f"cannot write {path}: {_reason(error)}; nothing was changed") from error


def _reason(error: OSError) -> str:
    return error.strerror or str(error) or type(error).__name__


@contextlib.contextmanager
def _made(folder: Path) -> Iterator[None]:
    """The folder, made with its parents; gone again if the block fails."""
    missing = [place for place in (folder, *folder.parents) if not place.exists()]
    solid = folder if not missing else missing[-1].parent
    if not solid.is_dir():
        raise RequestError(f"cannot write to {folder}: {solid} is a file, not a folder")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        yield
    except BaseException:  # nor may an interrupt leave empty folders
        for place in missing:
            with contextlib.suppress(OSError):
                place.rmdir()
        raise


@contextlib.contextmanager
def _stage(folder: Path) -> Iterator[Path]:
    stage = folder / f".layout3d-{secrets.token_hex(6)}"
    stage.mkdir()
    try:
        yield stage
    finally:
        shutil.rmtree(stage, ignore_errors=True)


def _put_in_place(folder: Path, new: Path, backup: Path, scene: str, fingerprint: str) -> Outcome:
    names = sorted(path.name for path in new.iterdir())
    _check_names(folder, names)
    listed = manifest.read(folder)
    notes = []
    if listed is None:
        notes.append(f"{manifest.NAME} could not be read and is replaced; no older file was removed")
    known = listed or {}
    notes += _replaced(folder, names, known, scene)
    entries = {name: Entry(manifest.sha256(new / name) or "", scene, fingerprint) for name in names}
    stale = {
        name
        for name, entry in known.items()
        if name not in entries and entry.scene == scene and entry.fingerprint != fingerprint
    }
    removed = []
    for name in sorted(stale):
        state = manifest.sha256(folder / name)
        if state == known[name].sha256:
            removed.append(name)
        elif os.path.lexists(folder / name):
            notes.append(f"{name} is of an earlier state of the scene; it was changed since, so it stays")
    kept = {
        name: entry
        for name, entry in known.items()
        if name not in entries and name not in stale and os.path.lexists(folder / name)
    }
    (new / manifest.NAME).write_text(manifest.text({**kept, **entries}), encoding="utf-8", newline="\n")
    for path in new.iterdir():
        _flush(path)
    _swap(folder, new, backup, [*names, manifest.NAME], removed)
    return Outcome(tuple(names), tuple(removed), tuple(notes))


def _check_names(folder: Path, names: list[str]) -> None:
    """Names that one disk takes as two files and another as one are refused, and folders in the way."""
    seen: dict[str, str] = {}
    for name in (*names, manifest.NAME):
        other = seen.setdefault(name.casefold(), name)
        if other != name:
            raise RequestError(
                f"{other} and {name} are one file on disks that do not tell case apart; rename one part"
            )
        if (folder / name).is_dir() and not (folder / name).is_symlink():
            raise RequestError(f"cannot write {name} into {folder}: a folder of that name is in the way")


def _replaced(folder: Path, names: list[str], known: dict[str, Entry], scene: str) -> list[str]:
    """A note for every file that is replaced and was not this scene's own, untouched one."""
    notes = []
    for name in names:
        if not os.path.lexists(folder / name):
            continue
        entry = known.get(name)
        if entry is None:
            notes.append(f"{name} was there before, not written by layout3d: replaced")
        elif manifest.sha256(folder / name) != entry.sha256:
            notes.append(f"{name} had been changed since it was written: replaced")
        elif entry.scene != scene:
            notes.append(f"{name} was of the scene {entry.scene}: replaced")
    return notes


def _flush(path: Path) -> None:
    with path.open("rb+") as file:
        os.fsync(file.fileno())


def _swap(folder: Path, new: Path, backup: Path, names: list[str], removed: list[str]) -> None:
    """Replace and remove; on any failure put back what was there."""
    touched: list[str] = []
    before = {name for name in (*names, *removed) if os.path.lexists(folder / name)}
    for name in before:
        shutil.copy2(folder / name, backup / name, follow_symlinks=False)
    try:
        for name in names:
            touched.append(name)
            os.replace(new / name, folder / name)
        for name in removed:
            if not _same_file_as_new(folder, name, names):
                touched.append(name)
                (folder / name).unlink()
    except BaseException:  # an interrupt must not leave half an export either
        _put_back(folder, backup, touched, before)
        raise
    # The files are whole and in place; a disk that cannot flush a folder loses nothing by it.
    with contextlib.suppress(OSError):
        _flush_folder(folder)


def _put_back(folder: Path, backup: Path, touched: list[str], before: set[str]) -> None:
    """What was there, as it was; RequestError that names where the old files lie if some cannot be."""
    stuck = []
    for name in touched:
        try:
            if name in before:
                os.replace(backup / name, folder / name)
            else:
                (folder / name).unlink(missing_ok=True)
        except OSError:
            stuck.append(name)
    if stuck:
        kept = folder / f"{backup.parent.name.removeprefix('.')}-before"
        backup.rename(kept)
        raise RequestError(
            f"the export failed and {', '.join(stuck)} could not be put back: the old files are in {kept}"
        )


def _same_file_as_new(folder: Path, name: str, names: list[str]) -> bool:
    """Whether the disk takes an old name for one just written, in another case."""
    return any(
        other.casefold() == name.casefold() and (folder / other).samefile(folder / name) for other in names
    )


def _flush_folder(folder: Path) -> None:
    """Makes the renames last over a power cut; Windows cannot open a folder and needs no such thing."""
    if os.name == "posix":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
