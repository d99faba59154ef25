"""`python -m framecheck` is the command line."""


def main() -> None:
    """Run the command line.

    What it needs is loaded here and not above: every spawned worker imports this module again, and
    needs nothing of it.
    """
    from framecheck.cli.app import main as run_app

    run_app()


if __name__ == "__main__":
    main()
