"""Who may come in by the API: people by their session, testers by their key."""

from rest_framework.authentication import BaseAuthentication, get_authorization_header
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.permissions import BasePermission
from rest_framework.request import Request

from shop.models import TesterToken, User
from shop.operations.testers import key_hash


class TesterAuthentication(BaseAuthentication):
    """``Authorization: Tester <key>``; the request counts as made by who issued the key."""

    keyword = "Tester"

    def authenticate(self, request: Request) -> tuple[User, TesterToken] | None:
        """Return who issued the key and the key's row, or None where no key was sent."""
        parts = get_authorization_header(request).decode("latin-1").split()
        if len(parts) != 2 or parts[0] != self.keyword:
            return None
        token = (
            TesterToken.objects.select_related("issued_by", "instrument")
            .filter(key_sha256=key_hash(parts[1]), revoked_at__isnull=True)
            .first()
        )
        if token is None:
            raise AuthenticationFailed("This key is not known here, or it was revoked.")
        return token.issued_by, token

    def authenticate_header(self, request: Request) -> str:
        """Return what a refused client is told to send."""
        return self.keyword


class PeopleOrPostingTester(BasePermission):
    """People may use every view; a tester only the one that takes readings."""

    message = "A tester's key posts readings and nothing else."

    def has_permission(self, request: Request, view: object) -> bool:
        """Whether the request may go on."""
        if isinstance(request.auth, TesterToken):
            return bool(getattr(view, "testers_may_post", False)) and request.method == "POST"
        return isinstance(request.user, User)
