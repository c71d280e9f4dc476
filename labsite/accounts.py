"""Sign-in: people are entered by an administrator, nobody signs up."""

from allauth.account.adapter import DefaultAccountAdapter
from django.http import HttpRequest


class StaffAccountAdapter(DefaultAccountAdapter):
    """Closed sign-up; sentences in the laboratory's words."""

    error_messages = DefaultAccountAdapter.error_messages | {
        "username_password_mismatch": "That password does not belong to this name. The name was kept; try again.",
        "too_many_login_attempts": "Too many tries. Wait one minute, then try again, or ask an administrator.",
        "account_inactive": "This person no longer signs in here.",
    }

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        """Nobody signs up."""
        return False
