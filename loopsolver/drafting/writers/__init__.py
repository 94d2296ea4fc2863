"""One writer a format; each turns drawings into bytes and adds nothing of its own."""
