"""Who may do what: rules for views, the signed-in member, and the only ways to fetch a person's record."""
