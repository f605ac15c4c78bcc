"""Scores of the dashboard and the walk by Lighthouse: `.venv/bin/python -m tests.browser.lighthouse`.

Needs Node.js with npm; the version is fixed, so that scores can be compared. A score below 95 ends with exit code 1.
"""

import json
import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import sync_playwright

from tests.browser.conftest import House, chromium_path, sign_in

LIGHTHOUSE = "lighthouse@12.2.3"
CATEGORIES = ("performance", "accessibility", "best-practices")
LEAST = 0.95
FLAGS = "--headless=new --no-sandbox --disable-gpu --disable-background-networking --disable-component-update"


def measure(url: str, cookies: str, chromium: str, folder: Path) -> dict[str, float]:
    """The scores of one page, 0 to 1, as a phone sees it."""
    headers, report = folder / "headers.json", folder / "report.json"
    headers.write_text(json.dumps({"Cookie": cookies}))
    command = ["npx", "--yes", LIGHTHOUSE, url, "--quiet", "--output=json", f"--output-path={report}"]
    command += [f"--only-categories={','.join(CATEGORIES)}", f"--extra-headers={headers}", f"--chrome-flags={FLAGS}"]
    subprocess.run(command, check=True, env={**os.environ, "CHROME_PATH": chromium}, timeout=300)
    found = json.loads(report.read_text())
    for audit in found["audits"].values():
        if audit.get("score") is not None and audit["score"] < LEAST:
            print(f"    {audit['score']:.2f} {audit['id']}: {audit.get('displayValue', audit['title'])}")
    return {name: found["categories"][name]["score"] for name in CATEGORIES}


def main() -> int:
    """Start the program with the invented collection, measure both pages, and stop it again."""
    low = False
    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        folder = Path(name)
        chromium = str(chromium_path(playwright))
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        house = House(folder / "house", "--demo")
        context = browser.new_context()
        page = context.new_page()
        page.goto(house.url)
        sign_in(page, "keeper", house.passwords["keeper"])
        page.goto(house.url + "/racks/walk/")
        page.get_by_role("button", name=re.compile("whole house", re.IGNORECASE)).click()
        page.wait_for_url("**/walks/*/**")
        cookies = "; ".join(f"{cookie['name']}={cookie['value']}" for cookie in context.cookies())
        for url in (house.url + "/", page.url.split("#")[0]):
            scores = measure(url, cookies, chromium, folder)
            print(url, ", ".join(f"{name} {score:.2f}" for name, score in scores.items()))
            low = low or min(scores.values()) < LEAST
        browser.close()
        house.close()
    return int(low)


if __name__ == "__main__":
    sys.exit(main())
