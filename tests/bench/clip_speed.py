"""`python -m tests.bench.clip_speed`: the speed bench of clips, see `tests.bench.clip_stages`."""


def main() -> None:
    """Run it.

    What it needs is loaded here and not above, as in the command line: every spawned worker imports
    this module again, and its time would count.
    """
    from tests.bench.clip_stages import main as run_stages

    run_stages()


if __name__ == "__main__":
    main()
