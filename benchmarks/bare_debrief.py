"""What a debrief needs from outside, done by bare libraries: the reference of `bench_debrief`.

Two figures by matplotlib as SVG, of the size of a debrief's and with as many strokes and labels;
two pages by jinja2 that carry typeface and figure; two PDFs by typst to the same standards, with as
many words and the same figure. No log is read and nothing scored.
"""

import io
import json
import sys
from base64 import b64encode
from pathlib import Path
from tempfile import TemporaryDirectory

import typst
from jinja2 import DictLoader, Environment
from matplotlib import rc_context
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties

FONTS = Path(sys.argv[1])
OUTPUT = Path(sys.argv[2])
REGULAR = FontProperties(fname=str(FONTS / "SimengineSans-Regular.otf"), size=8)
PARTS = {"brief": (6.6, 69, 112, 19, 27), "whole": (10.9, 109, 176, 235, 20)}
"""Height of the figure in inches, its labels and strokes; the page's paragraphs and words in each.

They are those of the debrief of the first session of `term-not-breathing`.
"""
PAGE = """<!doctype html><html lang="en-GB"><head><meta charset="utf-8"><title>{{ title }}</title>
<style>{% for font in fonts %}@font-face { font-family: Own; src: url("{{ font }}"); }{% endfor %}
</style></head><body><h1>{{ title }}</h1><img alt="figure" src="{{ figure }}">
{% for text in texts %}<p>{{ text }}</p>
{% endfor %}</body></html>"""
PAPER = """#let data = json(bytes(sys.inputs.data))
#set document(title: data.title, date: datetime(year: 2026, month: 1, day: 31))
#set text(lang: "en", size: 9pt, font: "Simengine Sans")
= #data.title
#image(bytes(data.figure), format: "svg", alt: "figure")
#for words in data.texts { par(words) }
"""


def figure_of(height: float, labels: int, strokes: int) -> bytes:
    """Return a figure as SVG, each label and stroke put on it by itself."""
    figure = Figure(figsize=(7.08, height), dpi=72)
    FigureCanvasSVG(figure)
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set_axis_off()
    for number in range(strokes):
        axes.plot([number, number + 9], [number % 7, number % 5], clip_on=False)
    for number in range(labels):
        axes.text(number % 9, number % 7, f"label {number} beside", fontproperties=REGULAR)
    out = io.BytesIO()
    with rc_context({"svg.hashsalt": "bare", "svg.fonttype": "path"}):
        figure.savefig(out, format="svg", metadata={"Date": None})
    return out.getvalue()


def address(kind: str, content: bytes) -> str:
    """Return content as an address that carries it."""
    return f"data:{kind};base64,{b64encode(content).decode('ascii')}"


fonts = [address("font/woff2", path.read_bytes()) for path in sorted(FONTS.glob("*.woff2"))]
environment = Environment(loader=DictLoader({"page": PAGE}), autoescape=True)
with TemporaryDirectory() as folder:
    paper = Path(folder) / "paper.typ"
    paper.write_text(PAPER, encoding="utf-8")
    for name, (height, labels, strokes, paragraphs, words) in PARTS.items():
        svg = figure_of(height, labels, strokes)
        texts = [f"{number} " + "word " * (words - 1) for number in range(paragraphs)]
        page = environment.get_template("page").render(
            title=name, fonts=fonts, figure=address("image/svg+xml", svg), texts=texts
        )
        (OUTPUT / f"{name}.html").write_text(page, encoding="utf-8")
        data = {"title": name, "figure": svg.decode("utf-8"), "texts": texts}
        pdf = typst.compile(
            paper,
            root=paper.parent,
            font_paths=[FONTS],
            ignore_system_fonts=True,
            sys_inputs={"data": json.dumps(data)},
            pdf_standards=["ua-1", "a-2a"],
        )
        (OUTPUT / f"{name}.pdf").write_bytes(pdf)
