from django.urls import include, path

from config import views, work_views

urlpatterns = [
    path("", views.home, name="home"),
    path("health/", views.health, name="health"),
    path("health/live/", views.alive, name="alive"),
    path("metrics/", work_views.metrics, name="metrics"),
    path("tasks/", work_views.page, name="work"),
    path("tasks/again/", work_views.retry, name="work_retry"),
    path("", include("assignments.urls")),  # first, since pupils who sit a set ask most
    path("", include("accounts.urls")),
    path("bank/", include("bank.urls")),
]

handler500 = views.server_error
