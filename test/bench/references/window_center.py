"""Center of mass in a window that follows the star, with numpy: a crop of each frame about the last position, until the
position rests.

usage: window_center.py <file>     doubles: frames, side, radius, first x, first y; then the frames
Answers with its seconds, then x and y of the first frames.
"""
import sys
import time

import numpy as np

data = np.fromfile(sys.argv[1])
frames, side, radius, first_x, first_y = data[:5]
frames, side = int(frames), int(side)
stack = data[5:].reshape(frames, side, side)
settled, most = 0.01, 11


def center(frame):
    x, y = first_x, first_y
    for _ in range(most):
        left, right = max(0, int(np.ceil(x - radius))), min(side, int(np.floor(x + radius)) + 1)
        top, bottom = max(0, int(np.ceil(y - radius))), min(side, int(np.floor(y + radius)) + 1)
        columns = np.arange(left, right)
        rows = np.arange(top, bottom)[:, None]
        inside = (columns - x) ** 2 + (rows - y) ** 2 <= radius * radius
        light = np.where(inside, frame[top:bottom, left:right], 0.0)
        total = light.sum()
        new_x, new_y = light.sum(axis=0) @ columns / total, light.sum(axis=1) @ rows[:, 0] / total
        moved = (new_x - x) ** 2 + (new_y - y) ** 2
        x, y = new_x, new_y
        if moved < settled * settled:
            break
    return x, y


done = 0
for line in sys.stdin:
    count = int(line)
    begin = time.perf_counter()
    for _ in range(count):
        center(stack[done % frames])
        done += 1
    seconds = time.perf_counter() - begin
    print(seconds, *(value for frame in stack[:32] for value in center(frame)), flush=True)
