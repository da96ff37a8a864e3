"""Backups: whole archives that were read back, restored only into an empty folder.

``archive`` makes one, ``reading`` says whether one is whole, ``restoring`` unpacks it, ``keeping``
knows which to keep and how old the newest is, ``automatic`` makes one when it is due, and
``scrub`` compares the store itself with its records.
"""

from garage.backup.keeping import BackupAge, age

__all__ = ["BackupAge", "age"]
