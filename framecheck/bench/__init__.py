"""The benchmark that anybody can run: `python -m framecheck.bench`.

Accuracy against rendered scenes with exact truth, and speed as ratios of things that are timed side
by side in the same run, so that figures of unlike machines can be set beside each other. This part
stands on top of everything else, the command line included, and nothing imports it.
"""
