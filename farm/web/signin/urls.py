"""Addresses of signing in, starting a farm and joining one."""

from django.contrib.auth.views import LogoutView
from django.urls import path

from farm.web.signin import farms, views

urlpatterns = [
    path("login/", views.SignIn.as_view(), name="login"),
    path("logout/", LogoutView.as_view(), name="logout"),
    path("password/", views.ChangePassword.as_view(), name="password-change"),
    # What follows /reset/ and /join/ is blotted out of the logs (farm.settings.redact).
    path("forgotten/", views.AskForLetter.as_view(), name="password-reset"),
    path("forgotten/sent/", views.LetterSent.as_view(), name="password-reset-sent"),
    path("reset/<uidb64>/<token>/", views.NewPassword.as_view(), name="password-reset-confirm"),
    path("start/", farms.start, name="start-farm"),
    path("farms/", farms.choose, name="choose-farm"),
    path("join/<secret>/", farms.invitation, name="invitation"),
]
