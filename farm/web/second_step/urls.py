"""Addresses of the second step."""

from django.urls import path

from farm.web.second_step import views

urlpatterns = [
    path("login/code/", views.code, name="login-code"),
    path("second-step/", views.standing, name="second-step"),
    path("second-step/add/", views.add, name="second-step-add"),
    path("second-step/codes/", views.codes, name="second-step-codes"),
    path("second-step/off/", views.off, name="second-step-off"),
]
