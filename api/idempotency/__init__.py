"""`Idempotency-Key`: a creating request that is sent again is answered as the first time."""
