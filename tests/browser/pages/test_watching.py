"""Each fault that the watch looks for, planted into a page: it is found, and nothing is found without it."""

from __future__ import annotations

import pytest

from tests.browser.pages.watching import Watch

pytestmark = [pytest.mark.browser, pytest.mark.minutes]
SMALL = ".field, .field * { display: block; min-height: 0 !important; height: 8px; margin: 0; padding: 0; border: 0 }"
"""Two fields right below each other, 8 px each."""
PAGE, SHEET = "**/log-in/", "**/clinic/app.css"


@pytest.fixture
def look(chromium, clinic_site_running):
    """Open the log-in page, with something planted in what `where` answers; returns the findings."""
    context = chromium.new_context(viewport={"width": 390, "height": 844})

    def looking(where: str = "", before: str = "", plant: str = "", *, policy: bool = True) -> str:
        def planted(route):
            came = route.fetch()
            headers = {name: value for name, value in came.headers.items() if policy or "policy" not in name}
            text = came.text()
            body = text.replace(before, plant + before, 1) if before else text + plant
            route.fulfill(status=came.status, headers=headers, body=body)

        watch = Watch(context, clinic_site_running.address)
        if where:
            watch.page.route(where, planted)
        watch.page.route("**/*.example.org/**", lambda route: route.abort())
        watch.page.route("**/planted.js", lambda route: route.fulfill(content_type="text/javascript", body="nowhere()"))
        watch.page.goto(f"{clinic_site_running.address}/log-in/")
        watch.look_at_source()
        watch.look_at_policy()
        watch.look_at_shape("light")
        watch.look_with_axe("light")
        return "\n".join(watch.findings)

    yield looking
    context.close()


def test_without_a_fault_nothing_is_found(look):
    assert look() == ""


@pytest.mark.parametrize(
    ("plant", "findings"),
    [
        ('<p style="color: red">x</p>', ["inline: <p style=", "against the policy", "console: Applying inline style"]),
        ('<p class="a>b" onclick="x()">x</p>', ["inline: <p class="]),
        ("<script>nothing()</script>", ["inline: <script", "console: Executing inline script"]),
        ("<style>p { color: red }</style>", ["inline: <style", "against the policy of content: style-src-elem inline"]),
        ('<img src="https://pictures.example.org/a.png" alt="">', ["against the policy of content: img-src"]),
        ('<link rel="stylesheet" href="/static/none.css">', ["404: http"]),
        ('<script src="/static/planted.js"></script>', ["script failed: nowhere is not defined"]),
        ('<input type="text" name="x">', ["axe label: ['input[type="]),
        ("<h5>x</h5>", ["axe heading-order"]),
        ('<img src="data:image/gif;base64,R0lGODlhAQABAAAAACw=">', ["axe image-alt"]),
    ],
)
def test_a_fault_in_the_page(look, plant, findings):
    found = look(PAGE, "</main>", plant)

    assert [each for each in findings if each not in found] == [], found


def test_another_host_that_no_policy_forbids(look):
    found = look(PAGE, "</main>", '<img src="https://pictures.example.org/a.png" alt="">', policy=False)

    assert "another host is asked: https://pictures.example.org/a.png" in found
    assert "no strict policy of content" in found


@pytest.mark.parametrize(
    ("plant", "finding"),
    [
        ("h1 { color: #bbb }", "axe color-contrast: ['h1']"),
        (".card { width: 60rem }", "sideways: 97"),
        ("button { width: 3rem; white-space: nowrap }", "sideways: <button"),
        (SMALL, "axe target-size"),
    ],
)
def test_a_fault_in_the_style_sheet(look, plant, finding):
    found = look(SHEET, "", plant)

    assert finding in found, found
