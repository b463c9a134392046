"""Where the time goes: the functions in which the odds of the example spend most of their own."""

from __future__ import annotations

import cProfile
import pstats
from pathlib import Path

DRAWS = 2000
LISTED = 5


def main() -> dict[str, str]:
    """Profile one chunk of draws of every strategy, in one thread."""
    from pcompare import evaluation, run, uncertainty
    from pcompare.inputs import reader

    inputs = reader.read()
    chosen = run.carried_designs(run.compare(inputs))
    (cases,) = uncertainty.chunks(inputs, uncertainty.uniform(inputs, DRAWS, 1), DRAWS)
    evaluation.evaluate(cases, chosen)  # tables are read once
    profile = cProfile.Profile()
    profile.runcall(evaluation.evaluate, cases, chosen)
    found = pstats.Stats(profile).get_stats_profile()
    whole = found.total_tt
    own = sorted(found.func_profiles.items(), key=lambda one: -one[1].tottime)
    print(f"\nhottest of {DRAWS} draws of all strategies, {whole:.2f} s in all"
          f"\n{'function':52}{'calls':>10}{'share':>8}")  # fmt: skip
    for name, one in own[:LISTED]:
        place = "" if one.file_name == "~" else f" ({Path(one.file_name).name})"
        print(f"{name + place:52}{one.ncalls:>10}{one.tottime / whole:8.1%}")
    return {}


if __name__ == "__main__":
    main()
