"""Keys for testers that post their readings by themselves."""

import hashlib
import secrets
from datetime import datetime

from shop.errors import ShopError
from shop.models import Instrument, TesterToken, User

from . import log
from .base import LEADS, moment, save, verb


def key_hash(key: str) -> str:
    """Return what is kept of a key."""
    return hashlib.sha256(key.encode()).hexdigest()


@verb(*LEADS)
def issue_token(*, name: str, instrument: Instrument, by: User, now: datetime | None = None) -> tuple[TesterToken, str]:
    """A tester gets a key of its own, shown once; what it posts stands under the name of who issued it."""
    at, key = moment(now), secrets.token_urlsafe(32)
    token = save(
        TesterToken(name=name.strip(), instrument=instrument, key_sha256=key_hash(key), issued_by=by, issued_at=at)
    )
    log.record("tester key issued", by=by, at=at, tester=token.name)
    return token, key


@verb(*LEADS)
def revoke_token(*, token: TesterToken, by: User, now: datetime | None = None) -> TesterToken:
    """A key that was lost or is no longer needed stops working at once."""
    token = TesterToken.objects.select_for_update().get(pk=token.pk)
    if token.revoked_at is not None:
        raise ShopError("revoked_already", f"The key of {token} was withdrawn already.")
    token.revoked_at = moment(now)
    save(token)
    log.record("tester key revoked", by=by, at=token.revoked_at, tester=token.name)
    return token
