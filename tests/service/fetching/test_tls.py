"""The same transport over TLS, with a certificate made for the test."""

from __future__ import annotations

import shutil
import ssl
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from service.fetching.deadline import FetchDeadline
from service.fetching.failure import FetchFailed
from service.fetching.transport import Transport
from tests.service.fetching.builders import REPORTS, Stopwatch, answer, drips, says, serving

TEXT = "\n".join(REPORTS).encode()


@dataclass(frozen=True)
class Secured:
    """A server's side of TLS, and a transport that trusts it."""

    context: ssl.SSLContext
    transport: Transport


@pytest.fixture(scope="module")
def certificate(tmp_path_factory: pytest.TempPathFactory) -> Path:
    openssl = shutil.which("openssl")
    if openssl is None:
        pytest.skip("openssl is not installed: nothing to make a certificate with")
    file = tmp_path_factory.mktemp("tls") / "both.pem"
    subject = ["-subj", "/CN=127.0.0.1", "-addext", "subjectAltName=IP:127.0.0.1"]
    kind = ["-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-noenc", "-days", "2"]
    made = ["-x509", "-keyout", str(file), "-out", str(file.with_suffix(".crt"))]
    subprocess.run([openssl, "req", *made, *kind, *subject], check=True, capture_output=True)
    with file.open("a") as both:
        both.write(file.with_suffix(".crt").read_text())
    return file


@pytest.fixture
def secured(certificate: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Secured]:
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(certificate)
    transport = Transport(hosts=("127.0.0.1",))
    monkeypatch.setattr(transport._session, "verify", str(certificate))
    yield Secured(context=context, transport=transport)
    transport.close()


def address_of(url: str) -> str:
    return url.replace("{stations}", "XKAL")


def test_a_source_with_a_trusted_certificate_is_read(secured: Secured) -> None:
    with serving(says(answer(TEXT)), secured.context) as server:
        address = address_of(server.url(scheme="https"))
        for _ in range(2):
            assert secured.transport.get(address, deadline=FetchDeadline(total_s=5.0)) == TEXT


def test_a_certificate_that_nobody_vouches_for_is_refused(secured: Secured) -> None:
    stranger = Transport(hosts=("127.0.0.1",))
    with (
        serving(says(answer(TEXT)), secured.context) as server,
        pytest.raises(FetchFailed, match="no secure connection"),
    ):
        stranger.get(address_of(server.url(scheme="https")), deadline=FetchDeadline(total_s=5.0))
    stranger.close()


@pytest.mark.parametrize("at_once", [0, 60], ids=["header", "body"])
def test_drips_in_records_of_their_own_do_not_outlast_the_deadline(
    secured: Secured, at_once: int
) -> None:
    drip = drips(answer(TEXT), every_s=0.05, at_once=at_once)
    with serving(drip, secured.context) as server:
        watch = Stopwatch()
        with pytest.raises(FetchFailed, match="did not answer within 1 s"):
            secured.transport.get(
                address_of(server.url(scheme="https")), deadline=FetchDeadline(total_s=1.0)
            )
        took_s = watch.took_s()
    print(f"took {took_s:.3f} s")
    assert took_s <= 1.3
