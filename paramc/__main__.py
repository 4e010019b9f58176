"""`python -m paramc` is the command `paramc`."""

from __future__ import annotations

from paramc.cli import main

if __name__ == "__main__":
    main()
