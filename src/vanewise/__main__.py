"""``python -m vanewise`` is the command ``vanewise``."""

from vanewise.cli import main

if __name__ == "__main__":
    main(prog_name="vanewise")
