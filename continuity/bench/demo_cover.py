"""`python -m continuity.bench.demo_cover`: prints the seconds that the cover of the whole demo takes.

A program of its own, because the demo is loaded into a data directory of its own.
"""

from __future__ import annotations

import io
import os
import statistics
import time

REPEATS = 9


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "continuity.settings")
    import django
    from django.core.management import call_command

    django.setup()
    call_command("load_demo", stdout=io.StringIO())

    from continuity.cover.selectors import cover_of_production
    from continuity.schedule.models import Production

    production = Production.objects.get()
    appliances = len(cover_of_production(production.id))
    times = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        cover_of_production(production.id)
        times.append(time.perf_counter() - start)
    print(f"{appliances} {statistics.median(times)}")


if __name__ == "__main__":
    main()
