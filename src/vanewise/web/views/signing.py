"""Signing in and out, as pages."""

from vanewise.web.signin import sign_in, sign_out

__all__ = ["sign_in", "sign_out"]
