"""The signing key: made once, kept in the data folder, readable by its owner only."""

import fcntl
import os
import secrets
from pathlib import Path

KEY_BYTES = 64


def signing_key(data: Path) -> str:
    """The installation's key, made on first use.

    Two processes may start at once, so the file is locked while it is still empty: one writes,
    the other waits and reads. A file left empty by a crash is filled in the same way.
    """
    path = data / "secret.key"
    if path.exists() and (key := path.read_text().strip()):
        return key
    data.mkdir(mode=0o700, parents=True, exist_ok=True)
    with os.fdopen(os.open(path, os.O_RDWR | os.O_CREAT, 0o600), "r+") as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        if key := file.read().strip():
            return key
        key = secrets.token_urlsafe(KEY_BYTES)
        file.write(key)
        file.flush()
        os.fsync(file.fileno())
    return key
