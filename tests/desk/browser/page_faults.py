"""Looking at a page: what sticks out, what cannot be used by all, and its picture.

Pictures are taken where `PICTURES=yes` asks for them, and go into `reports/screens/`.
"""

from __future__ import annotations

import os
from pathlib import Path

from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import Page

_SCREENS = Path(__file__).parents[3] / "reports" / "screens"

# What sticks out of the window, what is too small to touch, and text that its own box cuts off.
SIZES = """() => {
    const seen = (one) => one.checkVisibility({ visibilityProperty: true, opacityProperty: true })
        && one.getClientRects().length > 0;
    const name = (one) => `${one.tagName.toLowerCase()} "${(one.getAttribute("aria-label")
        ?? one.textContent ?? "").trim().slice(0, 40)}"`;
    const wide = document.documentElement.scrollWidth > innerWidth + 1
        ? [`the page is ${document.documentElement.scrollWidth} px wide`] : [];
    const small = [...document.querySelectorAll("button, input, select, a.button, summary")]
        .filter((one) => seen(one) && !["radio", "checkbox"].includes(one.type))
        // a word of a sentence (WCAG 2.2, 2.5.8, inline): 24 px with what lies round it
        .filter((one) => !one.matches(".sentence button")
            || one.getBoundingClientRect().height < 16)
        .map((one) => [one, one.getBoundingClientRect()])
        .filter(([one, box]) => box.height < 43.5
            || (box.width < 43.5 && !one.matches(".tape-entry")))
        .map(([one, box]) => `${name(one)} is ${box.width.toFixed()} x ${box.height.toFixed()}`);
    const cut = [...document.querySelectorAll(
        "button, h1, h2, p, .lane-head, .act-label, .act-note, .answer .what, .next-list li")]
        .filter((one) => seen(one) && !one.matches(".unseen, .tape-entry, .tape-entry *"))
        .filter((one) => one.scrollWidth > one.clientWidth + 1
            && getComputedStyle(one).display !== "inline"
            || one.scrollHeight > one.clientHeight + 2
            && getComputedStyle(one).overflowY === "hidden")
        .map((one) => `${name(one)} is cut off`);
    const letters = [...document.querySelectorAll("body *")]
        .filter((one) => seen(one) && parseFloat(getComputedStyle(one).fontSize) < 12)
        .map((one) => `${name(one)} is written too small`);
    return [...wide, ...small, ...cut, ...letters];
}"""

# A third of axe's time went into the WeakMaps in which it keeps the fields of each colour, since
# its build is for old browsers, and another into reading the same few colours again and again.
_AXE_WITH_FIELDS = f"""(() => {{
    class Fields {{
        #key = Symbol();
        has(one) {{ return Object.hasOwn(one, this.#key); }}
        get(one) {{ return one[this.#key]; }}
        set(one, value) {{ one[this.#key] = value; return this; }}
        add(one) {{ return this.set(one, true); }}
        delete(one) {{ return this.has(one) && delete one[this.#key]; }}
    }}
    ((WeakMap, WeakSet) => {{ {AXE_SCRIPT} }})(Fields, Fields);
    const color = axe.commons.color.Color.prototype;
    const parse = color.parseString;
    const parsed = new Map();
    color.parseString = function (text) {{
        const known = parsed.get(text);
        if (known) {{
            const {{ r, g, b, alpha }} = known;
            return Object.assign(this, {{ r, g, b, alpha }});
        }}
        parsed.set(text, new axe.commons.color.Color(parse.call(this, text)));
        return this;
    }};
}})()"""

# By night nothing but colours differs (tests/web/test_night_differs_by_colour.py), so the rules
# about colours are all that have to be asked again.
_AXE = """async () => {
    const ofColour = { type: "rule", values: axe.getRules(["cat.color"])
        .filter(({ tags }) => !tags.includes("wcag2aaa")).map(({ ruleId }) => ruleId) };
    const wrong = [];
    for (const [theme, runOnly] of [["day", undefined], ["night", ofColour]]) {
        document.documentElement.dataset.theme = theme;
        const { violations } = await axe.run(document, {
            resultTypes: ["violations"], ...(runOnly && { runOnly }),
        });
        for (const { id, impact, help, nodes } of violations) {
            if (impact !== "serious" && impact !== "critical") continue;
            const where = nodes.slice(0, 3).map(({ html }) => html.slice(0, 120)).join("; ");
            wrong.push(`${theme}, ${id}: ${help}: ${where}`);
        }
    }
    document.documentElement.dataset.theme = "day";
    return wrong;
}"""


def picture(page: Page, name: str) -> None:
    if os.environ.get("PICTURES") == "yes":
        _SCREENS.mkdir(parents=True, exist_ok=True)
        page.screenshot(path=_SCREENS / f"{name}.png", animations="disabled")


def theme_of(page: Page, theme: str) -> None:
    page.evaluate("theme => { document.documentElement.dataset.theme = theme; }", theme)


def faults(page: Page) -> list[str]:
    """What axe finds serious or critical, by day and by night."""
    if not page.evaluate("() => 'axe' in window"):
        page.evaluate(_AXE_WITH_FIELDS)
    wrong: list[str] = page.evaluate(_AXE)
    return wrong


def everything(found: dict[str, list[str]]) -> list[str]:
    """Everything found, each with where."""
    return [f"{where}: {fault}" for where, faults_there in found.items() for fault in faults_there]
