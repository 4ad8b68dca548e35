"""A keeper with a keyboard and no mouse."""

from __future__ import annotations

from playwright.sync_api import Locator, Page, expect

MOST_STOPS = 150


class Keys:
    """Moves by Tab alone and presses what has the focus."""

    def __init__(self, page: Page) -> None:
        self.page = page

    def to(self, wanted: Locator) -> None:
        """Press Tab until the focus is on `wanted`."""
        expect(wanted).to_be_visible()
        for _press in range(MOST_STOPS):
            if wanted.evaluate("(one) => one === document.activeElement"):
                return
            self.page.keyboard.press("Tab")
        raise AssertionError(f"Tab does not come to {wanted} in {MOST_STOPS} presses")

    def write(self, label: str, text: str) -> None:
        """Replace what the field called `label` holds."""
        self.to(self.page.get_by_label(label, exact=False).first)
        self.page.keyboard.press("Control+A")
        self.page.keyboard.type(text)

    def choose(self, label: str, text: str) -> None:
        """Choose by typing the beginning of what is chosen."""
        self.to(self.page.get_by_label(label, exact=False).first)
        self.page.keyboard.type(text)

    def press(self, role: str, name: str) -> None:
        """Press Enter on a button or link."""
        self.to(self.page.get_by_role(role, name=name).first)  # type: ignore[arg-type]
        self.page.keyboard.press("Enter")
