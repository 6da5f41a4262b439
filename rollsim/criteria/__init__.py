"""Published static criteria, one file each, each citing its text; none of them is an approval."""
