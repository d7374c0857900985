"""The pages and the JSON interface: thin, server-rendered, for a phone in one hand."""
