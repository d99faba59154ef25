"""What `--explain` says: what was measured, the convention and where it comes from, what to try."""

from __future__ import annotations

from collections.abc import Mapping

LESSONS: Mapping[str, tuple[str, ...]] = {
    "cuts": (
        "Measured: the last measured picture before the cut and the first one after it. Size is "
        "the head height, crown to chin, over the picture height, and 1.50 x means half as large "
        "again. The angle is how far the camera has gone round the person, from the turns of head "
        "and shoulders; somebody who turns in place moves it as well. Who is the same is told by "
        "the colours of hair, face and clothes within this sequence, and nobody is identified.",
        "Convention: two shots of one person that are nearly alike read as one shot with a hole in "
        "it, a jump. Common practice asks for a change of 20 % in size, angle or place, which is "
        "the low end (the 20 % rule), or for 30 degrees round the subject (the 30-degree rule; "
        "Corrigan and White, The Film Experience). A cut to somebody else is no jump. How large a "
        "change startles is our own limit.",
        "Try: change size and angle together; half a step of size is rarely enough. A jump may "
        "also be meant, and then it should be too plain to pass for a slip.",
    ),
    "line": (
        "Measured: where the main subject of each shot looks, left or right of the lens, for each "
        "two people between whom the sequence cuts to and fro. From that follows the side of the "
        "line between them that the camera stood on.",
        "Convention: the camera stays on one side of the line, so that people who face each other "
        "look opposite ways on the screen (the 180-degree rule, common practice). A shot on the "
        "line itself, a shot of both, or a move seen on screen lets it change sides. The head "
        "stands for the look: somebody who turns round is not a crossing, but may read as one.",
        "Try: between the two shots, one from the line or one of both; or flip the order.",
    ),
    "pairs": (
        "Measured: for each set-up of one side and the set-up of the other that it is cut with: "
        "size, headroom, eye line, room ahead of the face, the height of the lens as the tilt of "
        "the face shows it, and the angle between look and lens. Over-the-shoulder sides are "
        "external, clean ones internal; the two kinds are best not mixed within a pair.",
        "Convention: the two sides of a conversation mirror each other, same lens, same distance, "
        "same height (common practice). The limits are ours. A difference can be meant: the one "
        "who is stronger in the scene is often shown larger, or from lower.",
        "Try: change the side that is easier to change; a tighter crop can be had afterwards, a "
        "wider one cannot.",
    ),
    "closeness": (
        "Measured: the angle between the look and the lens, seen from above, for the main subject "
        "of each shot: 0 degrees looks into the lens, 90 is a profile. The head stands for the "
        "eyes, which can turn by themselves.",
        "Convention: the tighter the shot, the nearer the lens comes to the eyeline, so that we "
        "come closer in both ways (common practice).",
        "Try: for the close-up bring the lens nearer to the eyeline than in the medium shot.",
    ),
    "scene": (
        "Measured: every shot once, in the order of the cut. The average shot length is the whole "
        "length over the number of shots; beside it stands the median, as few long shots move the "
        "average (Salt; Redfern). scene.csv has every shot, scene.json counts sizes for 500 shots "
        "as style statistics do (Salt).",
        "Convention: sizes grow with the scene, from a view of the place to the faces; a "
        "close-up before anything wider is strong, and is spent. Each side of a conversation is "
        "covered in the sizes of the other (common practice).",
        "Try: shoot the sizes that are missing for one side, or leave them out for both.",
    ),
}
"""By section of the terminal's output, a few paragraphs each."""
