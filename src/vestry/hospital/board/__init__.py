"""The board on a wall: who is inside, the lane, the queue, relief; and the page on which the lane is shown clear."""
