"""Jobs read back from a trail: listed, summed by machine, recalled by tool, judged again."""
