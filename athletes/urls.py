"""Addresses of the athletes app."""

from django.urls import URLPattern, URLResolver, path

from athletes.views import (
    acts,
    certificates,
    consents,
    contacts,
    erasure,
    factors,
    invitations,
    joining,
    links,
    measures,
    memberships,
    my_data,
    private_links,
    roster,
    roster_import,
    screenings,
    staff,
    tablets,
    tokens,
    wards,
)

gym_patterns = [
    path("gym/staff/", staff.staff, name="staff"),
    path("gym/staff/invite/", invitations.staff_invite, name="staff_invite"),
    path("gym/staff/<uuid:membership_id>/rights/", staff.staff_rights, name="staff_rights"),
    path("gym/staff/<uuid:membership_id>/end/", staff.staff_end, name="staff_end"),
    path("gym/staff/<uuid:membership_id>/certificates/", certificates.certificates, name="certificates"),
    path("gym/staff/<uuid:membership_id>/factor/", factors.factor_reset, name="factor_reset"),
    path("gym/keys/", tokens.tokens, name="tokens"),
    path("gym/keys/<uuid:token_id>/revoke/", tokens.token_revoke, name="token_revoke"),
    path("gym/tablets/", tablets.tablets, name="tablets"),
    path("gym/tablets/add/", tablets.tablet_add, name="tablet_add"),
    path("gym/tablets/<uuid:tablet_id>/revoke/", tablets.tablet_revoke, name="tablet_revoke"),
    path("my-code/", tablets.my_code, name="my_code"),
    path("account/role/", memberships.choose_membership, name="choose_membership"),
]

invitation_patterns = [
    path("invitations/<uuid:invitation_id>/renew/", invitations.invitation_renew, name="invitation_renew"),
    path("invitations/<uuid:invitation_id>/revoke/", invitations.invitation_revoke, name="invitation_revoke"),
    path("join/", joining.join_page, name="join"),
    path("join/accept/", joining.join_accept, name="join_accept"),
    path("join/sent/", joining.join_sent, name="join_sent"),
    path("join/<str:code>/", joining.join_code, name="join_code"),
]

roster_patterns = [
    path("athletes/", roster.roster, name="roster"),
    path("athletes/add/", roster.athlete_add, name="athlete_add"),
    path("athletes/import/", roster_import.roster_import, name="roster_import"),
    path("athletes/import/confirm/", roster_import.roster_confirm, name="roster_confirm"),
    path("athletes/<uuid:athlete_id>/change/", roster.athlete_change, name="athlete_change"),
    path("athletes/<uuid:athlete_id>/login/", invitations.athlete_login, name="athlete_login"),
    path("athletes/<uuid:athlete_id>/guardian/", invitations.athlete_guardian, name="athlete_guardian"),
    path("athletes/<uuid:athlete_id>/consents/", consents.consents, name="consents"),
    path("athletes/<uuid:athlete_id>/contacts/", contacts.contacts, name="contacts"),
    path("athletes/<uuid:athlete_id>/measures/", measures.measures, name="measures"),
    path("athletes/<uuid:athlete_id>/screenings/", screenings.screenings, name="screenings"),
    path("wards/", wards.wards, name="wards"),
    path("athletes/<uuid:athlete_id>/login/end/", links.login_end, name="login_end"),
    path("athletes/<uuid:athlete_id>/guardian/<uuid:guardianship_id>/end/", links.guardian_end, name="guardian_end"),
]

privacy_patterns = [
    path("gym/acts/", acts.acts, name="acts"),
    path("gym/acts.csv", acts.acts_csv, name="acts_csv"),
    path("gym/erasures/", erasure.erasures, name="erasures"),
    path("gym/erasures/<uuid:person_id>/", erasure.erasure, name="erasure"),
    path("kept/", my_data.kept, name="kept"),
    path("my-data/", my_data.my_data, name="my_data"),
    path("who-sees/", my_data.who_sees, name="who_sees"),
    path("who-sees/<uuid:athlete_id>/", my_data.who_sees_of, name="who_sees_of"),
    path("erasure/", erasure.erasure_mine, name="erasure_mine"),
    path("erasure/<uuid:athlete_id>/", erasure.erasure_ward, name="erasure_ward"),
]

link_patterns = [
    path("athletes/<uuid:athlete_id>/links/", private_links.private_links, name="private_links"),
    path("links/<uuid:link_id>/revoke/", private_links.private_link_revoke, name="private_link_revoke"),
    path("link/<str:token>/", private_links.link_open, name="link_open"),
    path("linked/choose/", private_links.link_choose, name="link_choose"),
    path("linked/leave/", private_links.link_leave, name="link_leave"),
]

urlpatterns: list[URLPattern | URLResolver] = [
    *privacy_patterns,
    *gym_patterns,
    *invitation_patterns,
    *roster_patterns,
    *link_patterns,
]
