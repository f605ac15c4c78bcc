"""The pictures of the README, taken from the invented collection: `.venv/bin/python -m tests.browser.pictures`."""

import io
import tempfile
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, sync_playwright

from tests.browser.conftest import House, chromium_path, sign_in

FOLDER = Path(__file__).resolve().parents[2] / "fixtures" / "pictures"
LIGHTS = ("day", "night", "red")
DESK, PHONE = {"width": 1280, "height": 1180}, {"width": 390, "height": 800}
GAP = 20
COLOURS = 64  # a page of ink and paper needs no more


def photograph(browser: Browser, house: House, path: str, size: dict[str, int], light: str = "day") -> Image.Image:
    """One page in one light, as much of it as the window shows."""
    context = browser.new_context(viewport=size, storage_state=house.cookies, reduced_motion="reduce", locale="en-GB")
    context.add_init_script(f"localStorage.setItem('light', '{light}')")
    page = context.new_page()
    page.goto(house.url + path)
    picture = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
    context.close()
    return picture


def beside(pictures: list[Image.Image]) -> Image.Image:
    """Pictures of one height, side by side."""
    width = sum(picture.width for picture in pictures) + GAP * (len(pictures) - 1)
    strip = Image.new("RGB", (width, pictures[0].height), "#6f6f6f")
    at = 0
    for picture in pictures:
        strip.paste(picture, (at, 0))
        at += picture.width + GAP
    return strip


def keep(picture: Image.Image, name: str) -> None:
    """Store with a small palette."""
    path = FOLDER / f"{name}.png"
    picture.quantize(COLOURS, method=Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE).save(path, optimize=True)
    print(f"{path.name}: {picture.width} × {picture.height} px, {path.stat().st_size // 1024} KiB")


def main() -> None:
    """Start the program with the invented collection, look at it, and stop it again."""
    FOLDER.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium_path(playwright), args=["--no-sandbox"])
        house = House(Path(folder), "--demo")
        context = browser.new_context()
        page = context.new_page()
        page.goto(house.url)
        sign_in(page, "keeper", house.passwords["keeper"])
        house.cookies = context.storage_state()
        keep(photograph(browser, house, "/", DESK), "dashboard")
        keep(beside([photograph(browser, house, "/", PHONE, light) for light in LIGHTS]), "dashboard-phone")
        keep(photograph(browser, house, "/animals/1/", DESK), "animal")
        browser.close()
        house.close()


if __name__ == "__main__":
    main()
