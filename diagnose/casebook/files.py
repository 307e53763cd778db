"""Writing that survives a crash, and one writer at a time.

A file is written whole beside its target, forced to disk, and put in place in one move, so that
anyone reading sees the old text or the new and never a mixture.
"""

from __future__ import annotations

import contextlib
import os
import secrets
from collections.abc import Iterator
from pathlib import Path

from diagnose.errors import CaseInUseError, Location, UnreadableError

LOCK_NAME = "journal.lock"
LOCK_SECONDS = 1.0
# Links are never followed inside a casebook; Windows needs binary mode said.
OPEN_FLAGS = getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)
REMEDY = (
    "Check that the folder is there, has room and may be written to, "
    "or name another with --casebook."
)


def failure(what: str, path: Path, error: OSError) -> UnreadableError:
    """The error to raise for a failed file operation.

    >>> print(failure("be written", Path("x"), OSError(28, "No space left on device")))
    x: could not be written: No space left on device
    """
    reason = error.strerror or str(error)
    return UnreadableError(f"could not {what}: {reason}", REMEDY, Location(str(path)))


def refuse_link(path: Path) -> None:
    """Refuse a path that is a link to another place.

    Raises:
        UnreadableError: it is one.
    """
    if path.is_symlink():
        raise UnreadableError(
            "this is a link to another place, and nothing may leave the casebook",
            "Put the file or folder itself here, or take the link away.",
            Location(str(path)),
        )


def read_bytes(path: Path) -> bytes:
    """The bytes of a file, links not followed.

    Raises:
        UnreadableError: missing, not readable, or a link.
    """
    refuse_link(path)
    try:
        return path.read_bytes()
    except OSError as error:
        raise failure("be read", path, error) from None


def atomic_write(path: Path, text: str | bytes) -> None:
    """Write a whole file: temporary file, flush, fsync, replace, fsync of the folder.

    Args:
        path: the target; an existing file is replaced, a link itself too and not what it points to.
        text: written as UTF-8 when not bytes.

    Raises:
        UnreadableError: it could not be written; an older file is then untouched.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     atomic_write(Path(folder, "a.txt"), "leaf")
    ...     [p.name for p in Path(folder).iterdir()]
    ['a.txt']
    """
    data = text.encode("utf-8", "replace") if isinstance(text, str) else text
    part = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
    try:
        with part.open("xb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
        part.replace(path)
        sync_folder(path.parent)
    except OSError as error:
        raise failure("be written", path, error) from None
    finally:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)


def write_new(path: Path, data: bytes) -> bool:
    """Write a file that must not exist yet, forced to disk. False when the name is taken.

    Raises:
        OSError: it could not be written.
    """
    try:
        file = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | OPEN_FLAGS, 0o666)
    except FileExistsError:
        return False
    with os.fdopen(file, "wb") as out:
        out.write(data)
        out.flush()
        os.fsync(out.fileno())
    sync_folder(path.parent)
    return True


def sync_folder(folder: Path) -> None:
    """Force the names in a folder to disk; a new file is only safe once its name is.

    Raises:
        OSError: the disk refused.
    """
    if os.name == "nt":  # Windows cannot open a folder, and needs no such step
        return
    file = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(file)
    finally:
        os.close(file)


@contextlib.contextmanager
def locked(folder: Path, timeout: float = LOCK_SECONDS) -> Iterator[None]:
    """Hold the lock of a case; the system lets go of it by itself when a program dies.

    Args:
        folder: the folder of the case.
        timeout: seconds to wait for another writer.

    Raises:
        CaseInUseError: another writer has it.
        UnreadableError: the lock file cannot be made.
    """
    from filelock import FileLock, Timeout  # 34 ms to import, and only writers need it

    path = folder / LOCK_NAME
    refuse_link(path)
    lock = FileLock(path)
    try:
        lock.acquire(timeout=timeout)
    except Timeout:
        raise CaseInUseError(
            f"case {folder.name} is open in another window",
            "Finish or close it there, then try again. Looking at it with "
            f"`diagnose show {folder.name}` works meanwhile.",
            Location(str(folder)),
        ) from None
    except OSError as error:
        raise failure("be locked", path, error) from None
    try:
        yield
    finally:
        lock.release()
