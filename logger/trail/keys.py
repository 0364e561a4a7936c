"""The key of a bench: Ed25519 (RFC 8032), made at the first run, readable by nobody else."""

import contextlib
import hashlib
import os
import secrets
import stat
from dataclasses import dataclass
from pathlib import Path

from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    PublicFormat,
    load_pem_private_key,
)

from logger.errors import BadInput, NotStored

_MOST = 4096
"""Bytes of a key file; a longer one is none."""


@dataclass(frozen=True, slots=True)
class BenchKey:
    """A private key with what is told of it."""

    private: Ed25519PrivateKey

    @property
    def public(self) -> bytes:
        """The public key, 32 bytes."""
        return self.private.public_key().public_bytes(Encoding.Raw, PublicFormat.Raw)

    def sign(self, message: bytes) -> bytes:
        """Return the signature, 64 bytes."""
        return self.private.sign(message)


def fingerprint(public: bytes) -> str:
    """Return what people compare of a public key: 16 hex digits of its SHA-256, in fours."""
    digits = hashlib.sha256(public).hexdigest()[:16]
    return " ".join(digits[place : place + 4] for place in range(0, 16, 4))


def holds(public: bytes, message: bytes, signature: bytes) -> bool:
    """Tell whether a signature is that of the message by this key; a key or signature of no form never is."""
    try:
        Ed25519PublicKey.from_public_bytes(public).verify(signature, message)
    except (InvalidSignature, ValueError, TypeError):
        return False
    return True


def bench_key(path: Path) -> BenchKey:
    """Return the key at `path`, made when there is none yet.

    BadInput when somebody else may read or write it, or it is no such key; NotStored when it cannot be made.
    """
    if not path.exists() and not path.is_symlink():
        _make(path)
    return load_key(path)


def load_key(path: Path) -> BenchKey:
    """Return the key at `path`; BadInput when there is none, somebody else may read or write it, or it is no key."""
    try:
        with path.open("rb") as file:
            _refuse_open(path, os.fstat(file.fileno()))
            data = file.read(_MOST)
    except OSError as error:
        raise BadInput(f"The bench's key {path} cannot be read: {error.strerror}.", "Check who owns it.") from error
    try:
        key = load_pem_private_key(data, password=None)
    except (ValueError, TypeError, UnsupportedAlgorithm):
        key = None
    if not isinstance(key, Ed25519PrivateKey):
        raise BadInput(f"{path} is not an Ed25519 key.", "Take the file aside; the next start makes a new key.")
    return BenchKey(key)


def _refuse_open(path: Path, found: os.stat_result) -> None:
    mode = stat.S_IMODE(found.st_mode)
    if not stat.S_ISREG(found.st_mode) or found.st_uid != os.geteuid():
        raise BadInput(f"The bench's key {path} belongs to somebody else.", "Take it aside, or run it as its owner.")
    if mode & 0o077:
        raise BadInput(
            f"The bench's key {path} can be read or changed by others (mode {mode:04o}).",
            f"If nobody did, run: chmod 600 {path}; else take it aside, and the next start makes a new key.",
        )


def _make(path: Path) -> None:
    """Put a whole key in place at once: a second start at the same moment keeps the key of the first."""
    data = Ed25519PrivateKey.generate().private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    draft = path.with_name(f"{path.name}.{secrets.token_hex(4)}")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with open(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:  # noqa: PTH123
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        with contextlib.suppress(FileExistsError):
            path.hardlink_to(draft)
    except OSError as error:
        raise NotStored(f"The bench's key {path} cannot be made: {error.strerror}.", "Check the folder.") from error
    finally:
        with contextlib.suppress(OSError):
            draft.unlink(missing_ok=True)
