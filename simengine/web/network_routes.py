"""The addresses of a console on a network beside those of both houses: accounts and trust."""

from __future__ import annotations

from starlette.routing import Route

from simengine.web import account_pages, signing_in, trust_pages

NETWORK_ROUTES = (
    Route("/sign-in", signing_in.sign_in_page),
    Route("/sign-in", signing_in.sign_in, methods=["POST"]),
    Route("/sign-out", signing_in.sign_out, methods=["POST"]),
    Route("/password", signing_in.password_page),
    Route("/password", signing_in.change_password, methods=["POST"]),
    Route("/invitation", signing_in.invitation_page),
    Route("/invitation", signing_in.accept, methods=["POST"]),
    Route("/invitation/{code}", signing_in.invitation_page),
    Route("/accounts", account_pages.accounts_page),
    Route("/accounts", account_pages.invite, methods=["POST"]),
    Route("/address.svg", account_pages.address_picture),
    Route("/trust", trust_pages.trust),
    Route("/authority.crt", trust_pages.authority),
)
