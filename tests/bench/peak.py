"""Load a register as the command does and say how much memory this process came to: `python -m tests.bench.peak FILE`.

The command's own JSON goes to standard output, and the figures to standard error as JSON in one line.
"""

from __future__ import annotations

import json
import os
import re
import resource
import sys
import time
from pathlib import Path


def ru_maxrss_mb() -> float:
    """What the kernel says of the process, in MB; it counts what stood there before this program was started."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def high_water_mb() -> float | None:
    """What this program itself came to, in MB; None where the system does not tell."""
    try:
        found = re.search(r"VmHWM:\s+(\d+) kB", Path("/proc/self/status").read_text())
    except OSError:
        return None
    return int(found[1]) / 1024 if found else None


def main(path: str) -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "kit.settings")
    import django

    django.setup()
    from django.core.management import call_command

    before = ru_maxrss_mb()
    started = time.perf_counter()
    call_command("load_register", path, "--format", "json")
    figures = {
        "seconds": time.perf_counter() - started,
        "before_mb": before,
        "ru_maxrss_mb": ru_maxrss_mb(),
        "high_water_mb": high_water_mb(),
    }
    sys.stderr.write(json.dumps(figures) + "\n")


if __name__ == "__main__":
    main(sys.argv[1])
