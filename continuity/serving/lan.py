"""What `up --lan` prepares so that phones on the same network can keep the application."""

from __future__ import annotations

from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path

from cryptography.x509.oid import NameOID

from continuity.bootstrap.addresses import own_names, url
from continuity.serving import authority, authority_page


@dataclass(frozen=True)
class Network:
    """`phones` are the addresses and names by which phones open the application."""

    certificates: authority.Certificates
    phones: list[str]
    port: int
    authority_port: int

    def urls(self) -> list[str]:
        """Where phones open the application; the machine's name last, for not every network knows it."""
        local = [name for name in own_names() if name.endswith(".local")]
        return [url("https", phone, self.port) for phone in dict.fromkeys([*self.phones, *local])]

    def lines(self) -> list[str]:
        """What the person at the terminal must know."""
        lines = [
            "On each phone, once: open "
            + url("http", self.phones[0], self.authority_port)
            + " and follow it.",
            "  Go on only if the phone shows this SHA-256 fingerprint for the authority:",
            f"  {self.certificates.fingerprint}",
            "Then open " + " or ".join(self.urls()),
            "Whoever is on this Wi-Fi can reach the sign-in page: give the Wi-Fi a password that only the "
            "crew knows, and put nothing real into the demo, whose password is no secret.",
        ]
        if self.certificates.moved:
            lines.append(
                "This machine's address has changed. What phones have not sent yet stays on them under the "
                "old address: give the machine that address again in the router, and they send it."
            )
        return lines

    def page_served(self, host: str) -> AbstractContextManager[None]:
        """Serves the authority's page during the block. Raises CannotGoOn."""
        names = self.certificates.authority.subject.get_attributes_for_oid(NameOID.COMMON_NAME)
        text = authority_page.page(str(names[0].value), self.certificates.fingerprint, self.urls())
        return authority_page.served(host, self.authority_port, text, self.certificates.authority_der)


def prepare(data_dir: Path, phones: list[str], port: int, authority_port: int) -> Network:
    """Raises CannotGoOn."""
    return Network(authority.ensure(data_dir / "tls", phones), phones, port, authority_port)
