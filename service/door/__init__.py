"""Who is let in: keys, sessions of browsers, identities that a proxy vouches for."""
