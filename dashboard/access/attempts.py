"""How often a login may be tried: after a few failures one has to wait, longer each time.

Failures are counted for each address (of IPv6 its network of 64 bits, which is what one customer is given) and for each
name, whether or not somebody is called so. Those who guess at one person from many places are slowed by the name, but
never by more than a minute, so that nobody can lock another out for long.

Memory is bounded: names fall into a fixed number of buckets, and of the addresses the ones seen longest ago are
forgotten. A restart forgets all.
"""

from __future__ import annotations

import hashlib
import ipaddress
import secrets
import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass

from dashboard.access.names import same_name

FREE = 5
"""So many failures cost nothing: people mistype."""
LONGEST_FOR_ADDRESS_S = 900.0
LONGEST_FOR_NAME_S = 60.0
FORGOTTEN_AFTER_S = 3600.0
MOST_ADDRESSES = 4096
NAME_BUCKETS = 4096


@dataclass(frozen=True)
class _Failures:
    count: int
    last_s: float


class Attempts:
    """Counts failed logins; may be used from several threads.

    Parameters
    ----------
    clock : callable
        Seconds that only go forward.
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._alone = threading.Lock()
        self._salt = secrets.token_bytes(16)
        self._known: OrderedDict[str, _Failures] = OrderedDict()
        self._names: dict[str, _Failures] = {}

    def begin(self, address: str, name: str) -> float:
        """Begin an attempt; it counts as failed until :meth:`succeeded` is told, so that many at once gain nothing.

        Returns
        -------
        float
            Seconds to wait before it may be made; 0 where it may be made now. One that has to wait is not counted.
        """
        now_s = self._clock()
        place, bucket = network_of(address), self._bucket(name)
        with self._alone:
            wait_s = max(
                _wait_s(self._known.get(place), now_s, LONGEST_FOR_ADDRESS_S),
                _wait_s(self._names.get(bucket), now_s, LONGEST_FOR_NAME_S),
            )
            if wait_s == 0:
                self._known[place] = _one_more(self._known.get(place), now_s)
                self._known.move_to_end(place)
                self._names[bucket] = _one_more(self._names.get(bucket), now_s)
                while len(self._known) > MOST_ADDRESSES:
                    self._known.popitem(last=False)
        return wait_s

    def succeeded(self, address: str, name: str) -> None:
        """Take an attempt back that turned out right; failures of the same address with other names stay counted."""
        place = network_of(address)
        with self._alone:
            self._names.pop(self._bucket(name), None)
            failures = self._known.get(place)
            if failures is not None and failures.count > 1:
                self._known[place] = _Failures(failures.count - 1, failures.last_s)
            else:
                self._known.pop(place, None)

    def _bucket(self, name: str) -> str:
        digest = hashlib.blake2b(same_name(name).encode("utf-8", "surrogatepass"), key=self._salt, digest_size=8)
        return f"{int.from_bytes(digest.digest(), 'big') % NAME_BUCKETS}"


def network_of(address: str) -> str:
    """Return what an address is counted under: itself, or of IPv6 its network of 64 bits."""
    try:
        ip = ipaddress.ip_address(address.partition("%")[0])
    except ValueError:
        return "unknown"
    if isinstance(ip, ipaddress.IPv6Address):
        if ip.ipv4_mapped is not None:
            return str(ip.ipv4_mapped)
        return str(ipaddress.ip_network((ip, 64), strict=False))
    return str(ip)


def _wait_s(failures: _Failures | None, now_s: float, longest_s: float) -> float:
    if failures is None or failures.count < FREE or now_s - failures.last_s > FORGOTTEN_AFTER_S:
        return 0.0
    wait_s = min(2.0 ** min(failures.count - FREE, 30), longest_s)
    return max(0.0, failures.last_s + wait_s - now_s)


def _one_more(failures: _Failures | None, now_s: float) -> _Failures:
    fresh = failures is None or now_s - failures.last_s > FORGOTTEN_AFTER_S
    return _Failures(1 if fresh or failures is None else failures.count + 1, now_s)
