"""What an account is told about itself."""

from django.db.models import QuerySet

from maintenance.models import AccessToken, Account, Member


def memberships_of(account: Account) -> QuerySet[Member]:
    """Return the account's memberships with their collections, by the collections' names."""
    return (
        Member.objects.filter(account=account)
        .select_related("collection")
        .order_by("collection__name", "id")
    )


def tokens_of(account: Account) -> QuerySet[AccessToken]:
    """Return the account's tokens that were not revoked, the expired ones among them."""
    return AccessToken.objects.filter(account=account, revoked_at__isnull=True)
