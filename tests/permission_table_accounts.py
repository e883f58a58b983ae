"""The lines of ``permission_table`` for people, classes and what is kept about pupils."""

ACCOUNTS = """\
/pupil/
    GET   ok
    POST  400
/sign-in/
    GET   ok
    POST  400
/sign-in/code/
    GET   in
    POST  in
/second-factor/
    GET   in  403 403 ok  ok  ok  ok  ok  403 ok  ok
    POST  401 403 403 400 400 400 400 400 403 400 400
/second-factor/codes/
    GET   405
    POST  401 403 403 404 404 404 404 404 403 404 404
/second-factor/passkeys/options.json
    GET   405
    POST  401 403 403 400 400 400 400 400 403 400 400
/second-factor/passkeys/
    GET   405
    POST  401 403 403 go  go  go  go  go  403 go  go
/second-factor/passkeys/<int:pk>/remove/ passkey
    GET   405
    POST  401 403 403 404 404 404 404 404 403 404 404
/sign-in/passkey/options.json
    GET   405
    POST  ok
/sign-in/passkey/
    GET   405
    POST  in
/sign-in/school/
    GET   404
    POST  405
/sign-in/school/back/
    GET   404
    POST  405
/sign-in/school/unlink/
    GET   405
    POST  401 403 403 404 404 404 404 404 403 404 404
/sign-out/
    GET   405
    POST  in
/password/
    GET   in  403 403 ok  ok  ok  ok  ok  403 ok  ok
    POST  401 403 403 400 400 400 400 400 403 400 400
/invitation/<str:token>/ token
    GET   ok
    POST  400
/classes/
    GET   in  403 403 ok  ok  ok  ok  ok  403 ok  ok
    POST  401 403 403 ok  ok  ok  ok  ok  403 ok  ok
/classes/new/
    GET   in  403 403 ok  ok  403 ok  ok  403 403 ok
    POST  401 403 403 400 400 403 400 400 403 403 400
/classes/<int:pk>/ class
    GET   in  403 403 ok  404 ok  ok  404 403 404 404
    POST  401 403 403 ok  404 ok  ok  404 403 404 404
/classes/<int:pk>/edit/ class
    GET   in  403 403 ok  404 404 ok  404 403 404 404
    POST  401 403 403 400 404 404 400 404 403 404 404
/classes/<int:pk>/archive/ class
    GET   405
    POST  401 403 403 go  404 404 go  404 403 404 404
/classes/<int:pk>/restore/ class
    GET   405
    POST  401 403 403 go  404 404 go  404 403 404 404
/classes/<int:pk>/code/ class
    GET   405
    POST  401 403 403 go  404 404 go  404 403 404 404
/classes/<int:pk>/lift-lock/ class
    GET   405
    POST  401 403 403 go  404 404 go  404 403 404 404
/classes/<int:pk>/pupils/new/ class
    GET   in  403 403 ok  404 404 ok  404 403 404 404
    POST  401 403 403 400 404 404 400 404 403 404 404
/classes/<int:pk>/pupils/<int:pupil_pk>/remove/ class pupil
    GET   in  403 403 ok  404 404 ok  404 403 404 404
    POST  401 403 403 go  404 404 go  404 403 404 404
/classes/<int:pk>/import/ class
    GET   in  403 403 ok  404 404 ok  404 403 404 404
    POST  401 403 403 400 404 404 400 404 403 404 404
/classes/<int:pk>/bring/ class
    GET   in  403 403 ok  404 404 ok  404 403 404 404
    POST  401 403 403 400 404 404 400 404 403 404 404
/classes/<int:pk>/cards/ class
    GET   in  403 403 ok  404 404 ok  404 403 404 404
    POST  401 403 403 400 404 404 400 404 403 404 404
/pupils/<int:pk>/ pupil
    GET   in  403 403 ok  404 404 ok  404 403 404 404
    POST  401 403 403 400 404 404 400 404 403 404 404
/pupils/<int:pk>/lift-lock/ pupil
    GET   405
    POST  401 403 403 go  404 404 go  404 403 404 404
/pupils/<int:pk>/held/ pupil
    GET   in  403 403 403 403 403 ok  403 403 403 404
    POST  405
/pupils/<int:pk>/held.json pupil
    GET   in  403 403 403 403 403 ok  403 403 403 404
    POST  405
/pupils/<int:pk>/erase/ pupil
    GET   in  403 403 403 403 403 ok  403 403 403 404
    POST  401 403 403 403 403 403 400 403 403 403 404
/records/
    GET   in  403 403 403 403 403 ok  403 403 403 ok
    POST  405
/records/retention/
    GET   in  403 403 403 403 403 ok  403 403 403 ok
    POST  401 403 403 403 403 403 400 403 403 403 400
/records/trail/
    GET   in  403 403 403 403 403 ok  403 403 403 ok
    POST  405
/records/trail.csv
    GET   in  403 403 403 403 403 ok  403 403 403 ok
    POST  405
/staff/
    GET   in  403 403 403 403 403 ok  403 403 403 ok
    POST  401 403 403 403 403 403 ok  403 403 403 ok
/staff/new/
    GET   in  403 403 403 403 403 ok  403 403 403 ok
    POST  401 403 403 403 403 403 400 403 403 403 400
/staff/<int:pk>/ staff
    GET   in  403 403 403 403 403 ok  403 403 403 404
    POST  401 403 403 403 403 403 400 403 403 403 404
/staff/<int:pk>/invite/ staff
    GET   405
    POST  401 403 403 403 403 403 ok  403 403 403 404
/staff/<int:pk>/disable/ staff
    GET   405
    POST  401 403 403 403 403 403 go  403 403 403 404
/staff/<int:pk>/enable/ staff
    GET   405
    POST  401 403 403 403 403 403 ok  403 403 403 404
/staff/<int:pk>/factor/reset/ staff
    GET   405
    POST  401 403 403 403 403 403 go  403 403 403 404
/staff/<int:pk>/lift-lock/ staff
    GET   405
    POST  401 403 403 403 403 403 go  403 403 403 404
/privacy/
    GET   ok
    POST  ok
/privacy/pupils/
    GET   ok
    POST  ok
"""
