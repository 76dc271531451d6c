"""The service: one blueprint a noun, wiring, pages and the command line. Only this package knows Flask."""
