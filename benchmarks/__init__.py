"""Speed and memory, as ratios against rivals measured in the same run."""
