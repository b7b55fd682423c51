"""On which addresses the dashboard may be served, and which Host headers are its own."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dashboard.access.sharing import Sharing, is_loopback
from dashboard.errors import NotShareable


@pytest.mark.parametrize("host", ["127.0.0.1", "127.8.8.8", "::1", "localhost"])
def test_this_machine_alone_needs_nobody(host: str) -> None:
    Sharing(host).check(anybody=False)


@pytest.mark.parametrize(
    "sharing",
    [
        Sharing("0.0.0.0"),
        Sharing("::"),
        Sharing("192.168.1.20"),
        Sharing("a-name.example"),
        Sharing(names=("concerts.example.org",)),
        Sharing(proxy="127.0.0.1", names=("concerts.example.org",)),
    ],
)
def test_whatever_others_can_reach_is_refused_until_somebody_has_a_password(sharing: Sharing) -> None:
    with pytest.raises(NotShareable, match="layakosh people add"):
        sharing.check(anybody=False)
    sharing.check(anybody=True)


def test_a_proxy_needs_a_name_and_an_address() -> None:
    with pytest.raises(NotShareable, match="--name"):
        Sharing(proxy="127.0.0.1").check(anybody=True)
    with pytest.raises(NotShareable, match="no TLS"):
        Sharing("0.0.0.0", https=True).check(anybody=True)
    with pytest.raises(NotShareable, match="--behind-proxy"):
        Sharing(proxy="*", names=("concerts.example.org",)).check(anybody=True)
    with pytest.raises(NotShareable, match="--behind-proxy"):
        Sharing(proxy="my-proxy", names=("concerts.example.org",)).check(anybody=True)


@pytest.mark.parametrize("name", ["https://x.example", "x.example:80", "x/y", "", "-x.example", "192.0.2.1", "a b"])
def test_a_name_is_a_host_name(name: str) -> None:
    with pytest.raises(NotShareable, match="--name"):
        Sharing(names=(name,)).check(anybody=True)


@pytest.mark.parametrize("host", ["127.0.0.1", "127.0.0.1:8050", "localhost:8050", "LOCALHOST", "[::1]:8050"])
def test_this_machines_own_names_are_ours(host: str) -> None:
    assert Sharing().is_ours(host)


@pytest.mark.parametrize(
    "host",
    ["evil.example", "evil.example:8050", "127.0.0.1.evil.example", "localhost.evil.example", "192.0.2.7", "", "a:b:c"],
)
def test_a_name_made_to_point_here_is_not_ours(host: str) -> None:
    assert not Sharing().is_ours(host)


def test_served_beyond_this_machine_any_address_is_ours_and_only_the_names_given() -> None:
    sharing = Sharing("0.0.0.0", names=("Concerts.example.org",))
    for host in ("192.168.1.20:8050", "[2001:db8::1]:8050", "concerts.example.org", "concerts.example.org.:443"):
        assert sharing.is_ours(host)
    for host in ("evil.example", "concerts.example.org.evil.example", "xconcerts.example.org"):
        assert not sharing.is_ours(host)


@given(st.text(max_size=80))
def test_no_text_breaks_the_check_or_slips_through_it(host: str) -> None:
    name = host.strip().lower().rpartition(":")[0] or host.strip().lower()
    if Sharing().is_ours(host):
        assert any(is_loopback(each.strip("[]").removesuffix(".")) for each in (name, host.strip().lower()))
