"""What every page must stand: axe in three lights, no sideways scroll, and nothing but red in red light."""

import io
from pathlib import Path

import axe_playwright_python
from PIL import Image
from playwright.sync_api import Page

AXE = (Path(axe_playwright_python.__file__).parent / "axe.min.js").read_text(encoding="utf-8")
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22a", "wcag22aa"]  # target-size comes with the last alone
COLOUR_RULES = ["color-contrast", "link-in-text-block"]  # all that a light can change
WIDTHS = (320, 390, 768, 900, 1280)
NOT_RED = 2  # of 255; what a scaler may leave

RUN_AXE = """async ([kind, values]) => {
  const options = {runOnly: {type: kind, values}, resultTypes: ["violations"], rules: {"target-size": {enabled: true}}};
  if (kind === "rule") delete options.rules;
  const {violations} = await axe.run(document, options);
  return violations.flatMap(({id, nodes}) => nodes.map(({target, any}) =>
    `${id} ${target.join(" ")} ${any[0]?.message ?? ""}`));
}"""
UNFOLD = "() => document.querySelectorAll('details').forEach((part) => { part.open = true; })"
LIGHT = "(light) => { document.documentElement.dataset.light = light; }"


def accessibility(page: Page) -> list[str]:
    """What axe finds in the three lights, each line a rule and the element it means."""
    width = page.viewport_size["width"]
    height = page.evaluate("document.documentElement.scrollHeight")
    page.set_viewport_size({"width": width, "height": height})  # so that the find box at the foot covers nothing
    page.evaluate(AXE)
    found = []
    for light in ("night", "red", "day"):
        page.evaluate(LIGHT, light)
        what = ["tag", TAGS] if light == "day" else ["rule", COLOUR_RULES]
        found += [f"{light}: {line}" for line in page.evaluate(RUN_AXE, what)]
    return found


def sideways(page: Page) -> list[str]:
    """Widths at which the page would scroll sideways."""
    found = []
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 800})
        needed = page.evaluate("document.documentElement.scrollWidth")
        if needed > width:
            found.append(f"{needed} px wide at {width} px")
    return found


def lit_otherwise(page: Page) -> list[str]:
    """Channels other than red that are lit in red light, with the brightest value."""
    page.evaluate(LIGHT, "red")
    picture = Image.open(io.BytesIO(page.screenshot(full_page=True))).convert("RGB")
    brightest = {name: high for name, (_, high) in zip("RGB", picture.getextrema(), strict=True)}
    return [f"{name} reaches {brightest[name]} in red light" for name in "GB" if brightest[name] > NOT_RED]
