"""What goes over the wire: requests and answers, their types, and what is wrong with them."""
