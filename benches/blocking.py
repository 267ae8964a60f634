"""What does blocking cost where nothing blocks, and where floors and a front do?

``python benches/blocking.py`` searches the same studies with floors that block and with floors that
do not, in turns, and prints the ratio of the times for a hang computed.
"""

from __future__ import annotations

import dataclasses
import statistics
import time

import hangarc as ha
from hangarc.demo import venues

ROUNDS = 5


def s_a_hang(study: ha.Study, seed: int) -> float:
    """Processor time of a whole search, on all threads, for each hang that it computes."""
    start = time.process_time()
    found = ha.optimise_splays(study, seed=seed)
    return (time.process_time() - start) / found.evaluations


def main() -> None:
    """Print the ratios, blocking over free."""
    for name, study in venues.studies().items():
        free = dataclasses.replace(
            study, venue=dataclasses.replace(study.venue, floors_block=False)
        )
        ratios = [s_a_hang(study, seed) / s_a_hang(free, seed) for seed in range(ROUNDS)]
        ratios.sort()
        print(
            f"{name:28} blocking / free: median {statistics.median(ratios):.2f} "
            f"({ratios[0]:.2f} to {ratios[-1]:.2f})"
        )


if __name__ == "__main__":
    main()
