"""The pose stage: models in, people seen out. MediaPipe is imported nowhere else."""
