"""Ratings on labels, as stated: the limits the makers set."""

from checker.facts.stated import add_stated

for _field in (
    "gvwr",
    "gcwr",
    "front_axle_rating",
    "rear_axle_rating",
    "payload_rating",
    "largest_trailer_weight",
):
    add_stated(f"tow_vehicle.{_field}", f"tow_vehicle.{_field}")
add_stated("hitch.receiver_rating", "tow_vehicle.receiver.rating")
add_stated("hitch.receiver_tongue_rating", "tow_vehicle.receiver.tongue_rating")
add_stated("hitch.ball_mount_rating", "tow_vehicle.ball_mount.rating")
add_stated("hitch.ball_mount_tongue_rating", "tow_vehicle.ball_mount.tongue_rating")
add_stated("hitch.ball_rating", "tow_vehicle.ball.rating")
add_stated("hitch.ball_size", "tow_vehicle.ball.size")
add_stated("hitch.coupler_rating", "trailer.coupler.rating")
add_stated("hitch.coupler_tongue_rating", "trailer.coupler.tongue_rating")
add_stated("hitch.coupler_size", "trailer.coupler.size", label="ball size the coupler is made for")
