"""`python -m startworthy`."""

from startworthy.stopping import watching


def run() -> None:
    """Run the program. Signals are taken care of before anything else is loaded."""
    with watching(for_good=True):
        from startworthy.cli import main

        main()


if __name__ == "__main__":
    run()
