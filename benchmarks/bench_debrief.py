"""`debrief` as a cold process, beside the same figures drawn by bare matplotlib.

Asked: under 1.5 s and 250 MiB. The reference draws a figure of the same size with about as many
axes, lines and labels as a session's picture has, as SVG: no scoring, no page and no PDF.
"""

import sys
import tempfile
from pathlib import Path

from benchmarks.cold import cold
from simengine.resources import scenarios_dir

PROGRAM = str(Path(sys.executable).with_name("simengine"))
BARE = """
import io
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

figure = Figure(figsize=(7.5, 9))
FigureCanvasSVG(figure)
for row, axes in enumerate(figure.subplots(5, 1)):
    for line in range(3):
        axes.plot(range(200), [line + at % 7 for at in range(200)])
    for label in range(12):
        axes.annotate(f"label {label}", (16 * label, label % 4))
figure.savefig(io.BytesIO(), format="svg")
"""

for log in sorted((scenarios_dir() / "sessions").glob("*.session.jsonl")):
    with tempfile.TemporaryDirectory() as folder:
        ours = cold([PROGRAM, "debrief", str(log), "--output", folder], runs=3)
    bare = cold([sys.executable, "-c", BARE], runs=3)
    print(log.name)
    print(f"  simengine debrief   {ours}   asked: under 1,500 ms and 250 MiB")
    print(
        f"  bare matplotlib     {bare}   ratio {ours.seconds / bare.seconds:.1f} in time, "
        f"{ours.mebibytes / bare.mebibytes:.1f} in memory"
    )
