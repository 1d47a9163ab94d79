"""What happened in the demo shop, done through the same operations that the pages use."""

from shop.demo import people
from shop.models import User
from shop.operations import workshop


def build() -> None:
    """Open the demo shop and let its history happen."""
    opened = workshop.open_shop(
        owner_username="owner",
        owner_password=people.new_password(),
        owner_name=people.PEOPLE["owner"][0],
        name="Demo workshop",
        jurisdiction="eu",
    )
    owner: User = opened.by
    people.hire(owner)
