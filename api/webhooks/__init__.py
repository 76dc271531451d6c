"""Webhooks over HTTP: the noun, its documents, and what receivers are told about in the OpenAPI document."""
