"""What is told, as data: readings in words, the ladder, what holds each conductor."""
