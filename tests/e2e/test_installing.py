"""The app can be put on the home screen."""

from __future__ import annotations

import pytest

from .phone import Handset

PICTURE_SIZES = """
async () => {
  const address = document.querySelector("link[rel=manifest]").href;
  const manifest = await (await fetch(address)).json();
  return Promise.all(manifest.icons.map(async ({ src, sizes }) => {
    const picture = new Image();
    picture.src = new URL(src, address);
    await picture.decode();
    return [sizes, `${picture.naturalWidth}x${picture.naturalHeight}`];
  }));
}
"""


@pytest.mark.only_looks
def test_the_browser_offers_to_install_it(handset: Handset) -> None:
    phone = handset.switch_on(network=True)
    phone.sign_in("artist")
    browser = phone.context.new_cdp_session(phone.page)
    assert browser.send("Page.getInstallabilityErrors") == {"installabilityErrors": []}
    assert browser.send("Page.getAppManifest")["errors"] == []
    icons = phone.page.evaluate(PICTURE_SIZES)
    assert [said for said, _ in icons] == [real for _, real in icons]
    assert {"192x192", "512x512"} <= {real for _, real in icons}
