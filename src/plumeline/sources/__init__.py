"""Tables a person might dispute: each a CSV with a sidecar that cites it."""
