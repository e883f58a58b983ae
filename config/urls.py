from django.urls import include, path

from config import views

urlpatterns = [
    path("", views.home, name="home"),
    path("health/", views.health, name="health"),
    path("", include("accounts.urls")),
    path("bank/", include("bank.urls")),
    path("", include("assignments.urls")),
]

handler500 = views.server_error
