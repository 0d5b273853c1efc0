"""Beyond this machine: the local certificate authority, the addresses, the listeners and the page that pairs phones."""
