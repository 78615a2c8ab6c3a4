"""A private folder of one user with a secret key, for files that later runs trust.

Every file in it starts with a digest made with the key, so a file that was changed, or written by
somebody without the key, counts as missing.
"""

import os
import stat
from hashlib import blake2b
from hmac import compare_digest
from pathlib import Path
from typing import Final

from checker.documents.files import open_regular, temporary_name

DIGEST_BYTES: Final = 32
KEY: Final = "key"
"""The file of the key."""

_KEY_BYTES: Final = 32


def key_of(folder: Path) -> bytes | None:
    """The key of a folder; makes the folder and the key if they are missing.

    None if the folder belongs to another user, others may write into it, or it cannot be made. A
    key that belongs to another user, is open to others or is cut short is replaced by a new one.
    """
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        if not _is_private(folder.stat(), stat.S_IWGRP | stat.S_IWOTH):
            return None
        return _read(folder / KEY) or _new_key(folder)
    except OSError:
        return None


def sign(content: bytes, name: str, key: bytes) -> bytes:
    """The bytes to write under a name: the digest, then the content."""
    return digest(content, name, key) + content


def verified_content(written: bytes, name: str, key: bytes) -> bytes | None:
    """The content that `sign` made for that name with that key, else None."""
    found, content = written[:DIGEST_BYTES], written[DIGEST_BYTES:]
    return content if compare_digest(found, digest(content, name, key)) else None


def digest(content: bytes, name: str, key: bytes) -> bytes:
    """A digest of a content and its name that only the owner of the key can make."""
    total = blake2b(name.encode() + b"\0", digest_size=DIGEST_BYTES, key=key)
    total.update(content)
    return total.digest()


def _is_private(found: os.stat_result, others: int) -> bool:
    """True if the file belongs to this user and others do not have these permission bits."""
    # Windows has neither such users nor such bits; there the folder is in the user's profile.
    return os.name == "nt" or (found.st_uid == os.geteuid() and not found.st_mode & others)


def _read(file: Path) -> bytes | None:
    try:
        handle = open_regular(file)
    except OSError:
        return None
    try:
        found = os.read(handle, _KEY_BYTES + 1)
        own = _is_private(os.fstat(handle), stat.S_IRWXG | stat.S_IRWXO)
    finally:
        os.close(handle)
    return found if own and len(found) == _KEY_BYTES else None


def _new_key(folder: Path) -> bytes | None:
    """A new key, written in one step.

    If two runs make one at the same moment, the later key counts; what the other run writes with
    its own key is then not trusted, and is read again.
    """
    folder.chmod(0o700)
    beside = temporary_name(folder / KEY)
    beside.unlink(missing_ok=True)
    handle = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        os.write(handle, os.urandom(_KEY_BYTES))
    finally:
        os.close(handle)
    beside.replace(folder / KEY)
    return _read(folder / KEY)
