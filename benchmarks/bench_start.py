"""How soon the command line answers, beside a bare Python that does nothing.

Asked: `simengine --help` in under 150 ms.
"""

import sys
from pathlib import Path

from benchmarks.cold import cold

PROGRAM = str(Path(sys.executable).with_name("simengine"))

print(f"bare Python          {cold([sys.executable, '-c', 'pass'])}")
print(f"simengine --help     {cold([PROGRAM, '--help'])}   asked: under 150 ms")
