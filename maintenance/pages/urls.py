"""Addresses of the pages."""

from django.urls import path

from maintenance.pages.due_items import DueItemPage
from maintenance.pages.passwords import (
    ChangePassword,
    ForgottenPassword,
    ForgottenPasswordSent,
    NewPassword,
)
from maintenance.pages.sign_in import SignIn, SignOut
from maintenance.pages.start import Start
from maintenance.pages.tokens import RevokeToken, Tokens

urlpatterns = [
    path("", Start.as_view(), name="start"),
    path("sign-in", SignIn.as_view(), name="sign-in"),
    path("sign-out", SignOut.as_view(), name="sign-out"),
    path("password", ChangePassword.as_view(), name="password"),
    path("forgotten-password", ForgottenPassword.as_view(), name="forgotten-password"),
    path(
        "forgotten-password/sent", ForgottenPasswordSent.as_view(), name="forgotten-password-sent"
    ),
    path("new-password/<uidb64>/<token>", NewPassword.as_view(), name="new-password"),
    path("due-items/<uuid:pk>", DueItemPage.as_view(), name="due-item"),
    path("tokens", Tokens.as_view(), name="tokens"),
    path("tokens/<uuid:pk>/revocation", RevokeToken.as_view(), name="revoke-token"),
]
