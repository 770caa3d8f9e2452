"""How soon the command line answers, beside a bare Python that does nothing.

Asked: `simengine --help` in under 150 ms, and at most 3 times a bare Python.
"""

import sys
from pathlib import Path

from benchmarks.cold import cold

PROGRAM = str(Path(sys.executable).with_name("simengine"))

bare = cold([sys.executable, "-c", "pass"], runs=15)
ours = cold([PROGRAM, "--help"], runs=15)
print(f"bare Python          {bare}")
print(f"simengine --help     {ours}   asked: under 150 ms")
print(f"ratio {ours.processor / bare.processor:.1f}   asked: at most 3")
