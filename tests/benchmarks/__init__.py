"""Speed and size, as ratios within one run: `python -m tests.benchmarks [--smoke]`."""
