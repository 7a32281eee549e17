"""Take pictures of the page, phone and desktop, light and dark, into a folder.

Usage: python tools/screenshots.py FOLDER [PLAN]
"""

import shutil
import sys
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Page, sync_playwright

from lugbook.web.app import serving

DEMO = Path(__file__).parent.parent / "examples" / "potters_house" / "plan.toml"
PHONE: dict[str, Any] = {
    "viewport": {"width": 390, "height": 844},
    "device_scale_factor": 2,
    "is_mobile": True,
    "has_touch": True,
}
DESKTOP: dict[str, Any] = {"viewport": {"width": 1280, "height": 800}}
FLAGS = [
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def take(folder: Path, plan: Path) -> list[Path]:
    """Take the pictures and return their paths."""
    folder.mkdir(parents=True, exist_ok=True)
    taken = []
    with serving(plan) as address, sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"),
            chromium_sandbox=False,
            args=FLAGS,
        )
        for device, settings in (("phone", PHONE), ("desktop", DESKTOP)):
            for theme in ("light", "dark"):
                taken += _pictures(browser, address, settings, folder, device, theme)
        browser.close()
    return taken


def _pictures(
    browser: Browser,
    address: str,
    settings: dict[str, Any],
    folder: Path,
    device: str,
    theme: Any,
) -> list[Path]:
    """Take the first screen, the whole page, and the page with a working open."""
    context = browser.new_context(**settings, color_scheme=theme)
    page = context.new_page()
    page.goto(address)
    page.evaluate("document.fonts.ready")
    paths = [
        _picture(page, folder / f"{device}-{theme}.png", whole=False),
        _picture(page, folder / f"{device}-{theme}-whole.png", whole=True),
    ]
    summary = page.locator("summary").first
    if summary.count():
        summary.click()
        path = folder / f"{device}-{theme}-working.png"
        summary.scroll_into_view_if_needed()
        page.locator("details[open]").first.screenshot(path=path)
        paths.append(path)
    context.close()
    return paths


def _picture(page: Page, path: Path, *, whole: bool) -> Path:
    page.screenshot(path=path, full_page=whole)
    return path


if __name__ == "__main__":
    if len(sys.argv) not in (2, 3):
        sys.exit(__doc__)
    for picture in take(
        Path(sys.argv[1]), Path(*sys.argv[2:]) if sys.argv[2:] else DEMO
    ):
        print(picture)
