"""From a reading entered to the new ladder on the screen, eight points, in a real browser."""

from __future__ import annotations

import gzip
import shutil
import statistics
import tempfile
import time
from pathlib import Path
from typing import Any

from tests.web.conftest import ARGUMENTS, SIZES
from tests.web.desk import Server

NAMES = ("Porch", "Organ", "Vestry", "Stage", "Kitchen", "Urn", "Gallery", "Store")
FORM = f"""title: Chapel hall
region: uk
supply: TN-S 230 V
circuits:
  sockets:
    device: B16
    run: [9 m, {", 4 m, ".join(NAMES)}]
    plugged in: {{Urn: heater 2 kW off}}
"""
SHOWN = {"L-N": ("231", "3.1"), "L-E": ("231", "231"), "N-E": ("0.4", "229")}
WANTED = (0.200, 0.500)
THUMB = 0.5  # seconds from the last digit to the tap on Enter (judgement); 0 is tried too


def main() -> None:
    """Enter 24 readings (a neutral broken after the third point) and print the times."""
    from playwright.sync_api import sync_playwright

    browser_path = shutil.which("chromium")
    if browser_path is None:
        raise SystemExit("chromium is not installed; run scripts/outside")
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as player:
        server = Server(Path(folder))
        size: Any = SIZES["phone"]
        server.start()
        browser = player.chromium.launch(executable_path=browser_path, args=ARGUMENTS)
        page = browser.new_context(viewport=size, base_url=server.url).new_page()
        answer = page.request.post(f"{server.url}/api/jobs", data={"form": FORM})
        job = answer.json()["id"]
        page.goto(f"/jobs/{job}")
        page.locator(".suspects").wait_for()
        found = _all(page, THUMB)
        weights = _weights(page, server, job)
        answer = page.request.post(f"{server.url}/api/jobs", data={"form": FORM})
        page.goto(f"/jobs/{answer.json()['id']}")
        page.locator(".suspects").wait_for()
        at_once = _all(page, 0.0, "1")
        browser.close()
        server.stop()
    print(f"{len(found)} readings entered, 8 points, {time.strftime('%Y-%m-%d')}")
    _print(f"Enter {THUMB:g} s after the last digit", found)
    _print("Enter at once, nothing weighed ahead", at_once)
    print(f"page weight {weights[0] / 1e3:.0f} kB unpacked, {weights[1] / 1e3:.0f} kB sent")


def _all(page: Any, thumb: float, more: str = "") -> list[tuple[float, float]]:
    """Every reading entered; ``more`` are digits after each figure, so that none is known."""
    return [
        _enter(page, place, pair, f"{shown}{more if '.' in shown else '.' + more}", thumb)
        for k, place in enumerate(NAMES)
        for pair, (near, far) in SHOWN.items()
        for shown in (near if k < 3 else far,)
    ]


def _enter(page: Any, place: str, pair: str, shown: str, thumb: float) -> tuple[float, float]:
    """Seconds from the tap on Enter until the browser has drawn the new ladder, and until the
    reading stood on its rung as being weighed. ``thumb`` is the time from typing to the tap."""
    rung = page.locator(f'li.rung[data-place="{place}"]').first
    entry = rung.locator("details.entry").first
    if entry.get_attribute("open") is None:
        entry.locator("summary").first.click()
    entry.locator(f'input[name=pair][value="{pair}"]').check(force=True)
    page.locator(".next:not(.waiting-next)").first.wait_for()  # of the reading before
    seconds = page.evaluate(
        """([place, shown, thumb]) => new Promise(done => {
            const form = Array.from(document.querySelectorAll('li.rung'))
                .find(r => r.dataset.place === place).querySelector('details.entry form');
            const before = document.getElementById('poll').dataset.seq;
            const figure = form.querySelector('input[name=shown]');
            figure.focus();
            figure.value = shown;
            figure.dispatchEvent(new InputEvent('input', { bubbles: true }));
            let start = 0, echo = 0;
            const look = () => {
                if (!echo && document.querySelector('.kept li')) { echo = performance.now(); }
                const poll = document.getElementById('poll');
                if (poll && poll.dataset.seq !== before) {
                    requestAnimationFrame(() => done(
                        [(performance.now() - start) / 1000, ((echo || start) - start) / 1000]));
                } else { requestAnimationFrame(look); }
            };
            setTimeout(() => {
                start = performance.now();
                form.querySelector('button[value=take]').click();
                look();
            }, 1000 * thumb);
        })""",
        [place, shown, thumb],
    )
    return float(seconds[0]), float(seconds[1])


def _weights(page: Any, server: Server, job: str) -> tuple[int, int]:
    """Bytes of the ladder page with all it needs: unpacked, and as sent."""
    plain = sent = 0
    for url in (f"/jobs/{job}", "/static/pages.css", "/static/pages.js", "/static/keep.js",
                "/static/htmx.min.js", "/static/mark.svg"):  # fmt: skip
        body = page.request.get(f"{server.url}{url}").body()
        plain += len(body)
        sent += len(gzip.compress(body, 6))
    return plain, sent


def _print(how: str, found: list[tuple[float, float]]) -> None:
    ordered = sorted(ladder for ladder, _ in found)
    late = ordered[min(len(ordered) - 1, int(0.95 * len(ordered)))]
    print(how)
    for name, seconds, most in (
        ("median", statistics.median(ordered), WANTED[0]),
        ("95th percentile", late, WANTED[1]),
    ):
        verdict = "met" if seconds <= most else "NOT MET"
        print(f"  {name:<16} {seconds * 1e3:6.0f} ms   wanted under {most * 1e3:.0f} ms: {verdict}")
    print(f"  slowest          {ordered[-1] * 1e3:6.0f} ms")
    echo = statistics.median(echo for _, echo in found)
    print(f"  on its rung      {echo * 1e3:6.0f} ms   median, being weighed")


if __name__ == "__main__":
    main()
