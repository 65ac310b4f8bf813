"""Set up and run Vanewise from its source: ``python3 dev.py demo`` (or ``make demo``), ``check``, ``bench``, ``long``.

Standard library only, and this file can be read by any Python from 3.8, so that an old one is told so in plain words.
"""

import sys

OLDEST, NEWEST = (3, 11), (3, 14)


def refusal(version, which, arguments=()):
    """What to tell a Python that is too old or too new, or None. ``which`` finds a program on the PATH."""
    if OLDEST <= tuple(version[:2]) <= NEWEST:
        return None
    found = "{}.{}".format(*version[:2])
    others = ["python3.{}".format(minor) for minor in range(NEWEST[1], OLDEST[1] - 1, -1)]
    here = [name for name in others if which(name)]
    again = "{} dev.py {}".format(here[0] if here else "python3.12", " ".join(arguments)).strip()
    return "\n".join(
        [
            "This is Python {}; Vanewise needs Python 3.11, 3.12, 3.13 or 3.14.".format(found),
            "  Expected: a Python from 3.11 to 3.14",
            "  Found:    Python {}".format(found),
            "  Next:     {}: {}".format(
                "run it with one that is on this machine" if here else "install one of them, then run it with that",
                again,
            ),
        ]
    )


def main(arguments):
    import shutil

    # Very old Pythons have no 'which'; they are told all the same.
    words = refusal(sys.version_info, getattr(shutil, "which", lambda name: None), arguments)
    if words:
        print(words)
        return 1

    from pathlib import Path

    root = Path(__file__).resolve().parent
    sys.path.insert(0, str(root))
    from tools.devkit.commands import main as run
    from tools.devkit.machine import Machine

    return run(Machine(root), arguments)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
