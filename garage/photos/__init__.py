"""Photos as proof: taken in whole or refused in words, kept byte for byte, shown without metadata.

``store`` is the door in and out, ``sweeper`` clears up after a power cut, ``reader`` runs
``decode`` in a process of its own.
"""
