"""The addresses of the plan. A plan's code is its link within the farm."""

from django.urls import path

from farm.web.plan import views, writing

urlpatterns = [
    path("plan/", views.plan, name="plan"),
    path("plan/ways/", views.ways_of_asked, name="plan-asked-ways"),
    path("plan/help/", views.what_would_help, name="plan-help"),
    path("plan/try/", writing.try_change, name="plan-try"),
    path("plan/anew/", writing.plan_anew, name="plan-anew"),
    path("plan/<slug:plan>/", views.page, name="plan-page"),
    path("plan/<slug:plan>/ways/", views.ways_of_plan, name="plan-ways"),
    path("plan/<slug:plan>/room/", views.room_of_plan, name="plan-room"),
    path("plan/<slug:plan>/try/", writing.try_further, name="plan-further"),
    path("plan/<slug:plan>/without/", writing.try_without, name="plan-without"),
    path("plan/<slug:plan>/again/", writing.try_again, name="plan-again"),
    path("plan/<slug:plan>/prove/", writing.prove, name="plan-prove"),
    path("plan/<slug:plan>/now/", writing.work_now, name="plan-now"),
    path("plan/<slug:plan>/stop/", writing.stop, name="plan-stop"),
    path("plan/<slug:plan>/drop/", writing.drop, name="plan-drop"),
    path("plan/<slug:plan>/adopt/", writing.adopt, name="plan-adopt"),
]
