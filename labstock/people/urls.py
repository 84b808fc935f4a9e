"""Logging in and out, one's own page, and who is who."""

from django.urls import path

from labstock.people import views

urlpatterns = [
    path("login/", views.LogIn.as_view(), name="login"),
    path("logout/", views.LogOut.as_view(), name="logout"),
    path("admin/login/", views.admin_login, name="admin-login"),
    path("me/", views.me, name="me"),
    path("me/password/", views.ChangePassword.as_view(), name="password-change"),
    path("people/", views.person_list, name="person-list"),
    path("people/add/", views.person_add, name="person-add"),
    path("people/<int:pk>/", views.person, name="person"),
    path("people/<int:pk>/password", views.person_password, name="person-password"),
    path("people/<int:pk>/badge", views.person_badge, name="person-badge"),
]
