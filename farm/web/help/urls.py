"""Address of the help."""

from django.urls import path

from farm.web.help import views

urlpatterns = [path("help/", views.help_page, name="help")]
