"""Start the command line, also as ``python -m rockhold``."""

from rockhold.cli import main

if __name__ == "__main__":
    main()
