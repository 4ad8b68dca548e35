"""The board's address."""

from django.urls import path

from farm.web.board import views

urlpatterns = [path("board/", views.board, name="board")]
