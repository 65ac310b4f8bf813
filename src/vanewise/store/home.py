"""The home folder: where everything that is kept lies, and who may read it."""

from __future__ import annotations

import os
import secrets
from dataclasses import dataclass
from pathlib import Path

from vanewise.errors import wrong


@dataclass(frozen=True, slots=True)
class Home:
    """One folder with the database, the files by digest, the backups and the secret key."""

    path: Path

    @property
    def database(self) -> Path:
        return self.path / "vanewise.sqlite3"

    @property
    def files(self) -> Path:
        return self.path / "files"

    @property
    def backups(self) -> Path:
        return self.path / "backups"

    @property
    def secret_file(self) -> Path:
        return self.path / "secret.key"

    @property
    def passphrase_file(self) -> Path:
        return self.path / "passphrase.argon2"

    def prepare(self) -> Home:
        """Create the folders, closed to other people of this machine. Raises InputError when that cannot be done."""
        for folder in (self.path, self.files, self.backups):
            try:
                folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            except OSError as error:
                raise wrong(
                    f'home folder "{self.path}"',
                    "a folder that can be made and written to",
                    error.strerror or error,
                    "choose another folder, or free this one",
                ) from error
        return self

    def secret(self) -> str:
        """The key that signs cookies and form tokens: made once, readable by its owner only.

        The key is written under another name and then linked into place, so that two processes starting together
        agree on one key and none reads half of it.
        """
        if not self.secret_file.exists():
            fresh = self.path / f"secret.{secrets.token_hex(8)}"
            descriptor = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
            with os.fdopen(descriptor, "w", encoding="ascii") as handle:
                handle.write(secrets.token_urlsafe(50))
                handle.flush()
                os.fsync(handle.fileno())
            try:
                os.link(fresh, self.secret_file)
            except FileExistsError:
                pass
            except OSError:
                # Some file systems have no hard links; there, replacing is the nearest thing.
                os.replace(fresh, self.secret_file)
            fresh.unlink(missing_ok=True)
        return self.secret_file.read_text(encoding="ascii").strip()
