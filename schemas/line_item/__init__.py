"""A line item as shop software sends it: `body` takes it, `facts` and `terms` say what it means."""
