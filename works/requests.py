"""What a view reads from its request."""

from django.http import HttpRequest

from works.models import Person


def signed_in(request: HttpRequest) -> Person:
    """The person signed in.

    raises : RuntimeError on a page open to strangers, where nobody need be signed in
    """
    if not isinstance(request.user, Person):
        raise RuntimeError("this view asks who is signed in but is open to strangers")
    return request.user
