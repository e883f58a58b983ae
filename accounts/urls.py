from django.urls import path

from accounts.views import classes, imports, moving, privacy, pupils, sign_in, staff

app_name = "accounts"
urlpatterns = [
    path("pupil/", sign_in.pupil_sign_in, name="pupil_sign_in"),
    path("sign-in/", sign_in.sign_in, name="sign_in"),
    path("sign-out/", sign_in.sign_out, name="sign_out"),
    path("password/", sign_in.password, name="password"),
    path("invitation/<str:token>/", staff.invitation, name="invitation"),
    path("classes/", classes.listing, name="classes"),
    path("classes/new/", classes.new, name="class_new"),
    path("classes/<int:pk>/", classes.detail, name="class_detail"),
    path("classes/<int:pk>/edit/", classes.edit, name="class_edit"),
    path("classes/<int:pk>/archive/", classes.archive, name="class_archive"),
    path("classes/<int:pk>/restore/", classes.restore, name="class_restore"),
    path("classes/<int:pk>/code/", classes.renew_code, name="class_code"),
    path("classes/<int:pk>/lift-lock/", classes.lift_lock, name="class_lift_lock"),
    path("classes/<int:pk>/pupils/new/", pupils.new, name="pupil_new"),
    path("classes/<int:pk>/pupils/<int:pupil_pk>/remove/", pupils.remove, name="pupil_remove"),
    path("classes/<int:pk>/import/", imports.pupils_import, name="pupils_import"),
    path("classes/<int:pk>/bring/", moving.bring, name="pupils_bring"),
    path("classes/<int:pk>/cards/", pupils.cards, name="cards"),
    path("pupils/<int:pk>/", pupils.edit, name="pupil_edit"),
    path("pupils/<int:pk>/lift-lock/", pupils.lift_lock, name="lift_lock"),
    path("staff/", staff.listing, name="staff"),
    path("staff/new/", staff.new, name="staff_new"),
    path("staff/<int:pk>/", staff.edit, name="staff_edit"),
    path("staff/<int:pk>/invite/", staff.invite, name="staff_invite"),
    path("staff/<int:pk>/disable/", staff.disable, name="staff_disable"),
    path("staff/<int:pk>/enable/", staff.enable, name="staff_enable"),
    path("staff/<int:pk>/lift-lock/", staff.lift_lock, name="staff_lift_lock"),
    path("privacy/", privacy.privacy, name="privacy"),
    path("privacy/pupils/", privacy.privacy_pupils, name="privacy_pupils"),
]
