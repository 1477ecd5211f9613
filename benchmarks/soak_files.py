"""Files of every kind changed at random: every command that reads one ends well, in time and within memory.

Each file is read by a process of its own, forked from one that is warm, under a limit of memory and of time. What ends
otherwise than done, a check that did not pass, or one line about the input, is listed with its number, which makes the
same file again.
"""

from __future__ import annotations

import argparse
import collections
import os
import random
import resource
import signal
import tempfile
import warnings
from pathlib import Path

from rig_changed_files import FileKind, changed, file_kinds, run

MEMORY_BYTES = 1 << 30
LONGEST_S = 10


def main() -> None:
    """Change and read the files, and print a table."""
    parser = argparse.ArgumentParser(
        prog="benchmarks/soak_files.py",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--files", type=int, default=500, help="files of each kind")
    parser.add_argument("--first", type=int, default=0, help="number of the first one")
    parser.add_argument("--kinds", nargs="*", help="some kinds only")
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as made:
        base = Path(made)
        print("| kind | files | done | refused | processor time, mean | longest | memory, most | findings |")
        print("| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |")
        for name, kind in file_kinds(base).items():
            if chosen.kinds and name not in chosen.kinds:
                continue
            _soak(base, name, kind, range(chosen.first, chosen.first + chosen.files))


def _soak(base: Path, name: str, kind: FileKind, numbers: range) -> None:
    ends: collections.Counter[int] = collections.Counter()
    times, memory, findings = [], 0, []
    for number in numbers:
        with tempfile.TemporaryDirectory(dir=base) as folder:
            path = Path(folder) / kind.name
            path.write_bytes(changed(kind, random.Random(f"{name}-{number}")))
            said = Path(folder) / "said"
            child = os.fork()
            if child == 0:
                _read(path, kind, said, is_settings=name == "settings")
            _, status, used = os.wait4(child, 0)
            code = os.waitstatus_to_exitcode(status)
            ends[code] += 1
            times.append(used.ru_utime + used.ru_stime)
            memory = max(memory, used.ru_maxrss)
            if code not in (0, 1, 2):
                words = said.read_text(errors="replace") if said.exists() else f"ended by signal {-code}"
                findings.append(f"  {name} {number}: {' '.join(words.split())[-160:]}")
    print(
        f"| {name} | {len(times)} | {ends[0] + ends[1]} | {ends[2]} | {1000 * sum(times) / len(times):.0f} ms | "
        f"{max(times):.2f} s | {memory / 1024:.0f} MB | {len(findings)} |",
        flush=True,
    )
    for finding in findings:
        print(finding, flush=True)


def _read(path: Path, kind: FileKind, said: Path, *, is_settings: bool) -> None:
    """In a process of its own: read the file under limits and leave with the code, 3 for what is a finding."""
    code = 3
    try:
        warnings.simplefilter("error", RuntimeWarning)
        size = int(Path("/proc/self/statm").read_text().split()[0]) * os.sysconf("SC_PAGE_SIZE")
        resource.setrlimit(resource.RLIMIT_AS, (size + MEMORY_BYTES, size + MEMORY_BYTES))
        resource.setrlimit(resource.RLIMIT_CPU, (LONGEST_S, LONGEST_S))
        signal.signal(signal.SIGXCPU, signal.SIG_DFL)
        done = run(kind.words(path), path if is_settings else None)
        code = done.code if done.is_sound else 3
        said.write_text(done.err)
    except BaseException as error:
        said.write_text(repr(error))
    finally:
        os._exit(code)


if __name__ == "__main__":
    main()
