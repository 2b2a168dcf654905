"""Is a capture fit to be measured: findings that need to know where the patch lies."""
