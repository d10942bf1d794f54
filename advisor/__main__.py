"""``python -m advisor`` runs the same command as ``advisor``."""

from advisor.cli import main

if __name__ == "__main__":
    main()
