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
        found = [
            _enter(page, place, pair, shown)
            for k, place in enumerate(NAMES)
            for pair, (near, far) in SHOWN.items()
            for shown in (near if k < 3 else far,)
        ]
        weights = _weights(page, server, job)
        browser.close()
        server.stop()
    _print([ladder for ladder, _ in found], [echo for _, echo in found], weights)


def _enter(page: Any, place: str, pair: str, shown: str) -> tuple[float, float]:
    """Seconds from the tap on Enter until the browser has drawn the new ladder, and until the
    reading stood on its rung as being weighed."""
    rung = page.locator(f'li.rung[data-place="{place}"]').first
    entry = rung.locator("details.entry").first
    if entry.get_attribute("open") is None:
        entry.locator("summary").first.click()
    entry.locator(f'input[name=pair][value="{pair}"]').check(force=True)
    entry.locator("input[name=shown]").fill(shown)
    page.wait_for_timeout(700)  # the next check of the reading before has been worked out
    seconds = page.evaluate(
        """place => new Promise(done => {
            const form = Array.from(document.querySelectorAll('li.rung'))
                .find(r => r.dataset.place === place).querySelector('details.entry form');
            const before = document.getElementById('poll').dataset.seq;
            const start = performance.now();
            let echo = 0;
            const look = () => {
                if (!echo && document.querySelector('.kept li')) { echo = performance.now(); }
                const poll = document.getElementById('poll');
                if (poll && poll.dataset.seq !== before) {
                    requestAnimationFrame(() => done(
                        [(performance.now() - start) / 1000, ((echo || start) - start) / 1000]));
                } else { requestAnimationFrame(look); }
            };
            form.querySelector('button[value=take]').click();
            look();
        })""",
        place,
    )
    return float(seconds[0]), float(seconds[1])


def _weights(page: Any, server: Server, job: str) -> tuple[int, int]:
    """Bytes of the ladder page with all it needs: unpacked, and as sent."""
    plain = sent = 0
    for url in (f"/jobs/{job}", "/static/pages.css", "/static/pages.js", "/static/htmx.min.js",
                "/static/mark.svg"):  # fmt: skip
        body = page.request.get(f"{server.url}{url}").body()
        plain += len(body)
        sent += len(gzip.compress(body, 6))
    return plain, sent


def _print(times: list[float], echoes: list[float], weights: tuple[int, int]) -> None:
    ordered = sorted(times)
    median = statistics.median(ordered)
    late = ordered[min(len(ordered) - 1, int(0.95 * len(ordered)))]
    print(f"{len(times)} readings entered, 8 points, {time.strftime('%Y-%m-%d')}")
    for name, found, most in (("median", median, WANTED[0]), ("95th percentile", late, WANTED[1])):
        verdict = "met" if found <= most else "NOT MET"
        print(f"  {name:<16} {found * 1e3:6.0f} ms   wanted under {most * 1e3:.0f} ms: {verdict}")
    print(f"  slowest          {ordered[-1] * 1e3:6.0f} ms")
    print(f"  on its rung      {statistics.median(echoes) * 1e3:6.0f} ms   median, being weighed")
    print(f"  page weight      {weights[0] / 1e3:6.0f} kB unpacked, {weights[1] / 1e3:.0f} kB sent")


if __name__ == "__main__":
    main()
