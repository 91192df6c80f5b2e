"""The peak memory of a process, for the benchmarks."""

from __future__ import annotations

import resource
import subprocess
import time
from pathlib import Path


def peak_megabytes() -> float:
    """Peak of this process' resident memory [MB].

    Linux tells that of the program itself; what `getrusage` tells may be the parent's, before the program was loaded.
    """
    status = Path("/proc/self/status")
    if status.exists():
        for line in status.read_text(encoding="ascii").splitlines():
            if line.startswith("VmHWM:"):
                return int(line.split()[1]) / 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def peak_of_call(call: list[str]) -> float:
    """Peak memory of a call with the processes that it starts, shared pages counted once [MB].

    Linux only; looked at every few milliseconds, so that the true peak may be a little higher.

    Args:
        call: the command line.
    """
    process = subprocess.Popen(call, stdout=subprocess.DEVNULL)
    most = 0.0
    while process.poll() is None:
        most = max(most, sum(_share(number) for number in _family(process.pid)))
        time.sleep(0.002)
    return most


def _family(process: int) -> list[int]:
    """A process and the ones that it has started."""
    try:
        children = Path(f"/proc/{process}/task/{process}/children").read_text(encoding="ascii").split()
    except OSError:
        return [process]
    return [process, *(int(child) for child in children)]


def _share(process: int) -> float:
    """A process' share of the memory [MB]; nothing of one that has ended."""
    try:
        lines = Path(f"/proc/{process}/smaps_rollup").read_text(encoding="ascii").splitlines()
    except OSError:
        return 0.0
    return next((int(line.split()[1]) / 1024 for line in lines if line.startswith("Pss:")), 0.0)
