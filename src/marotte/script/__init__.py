"""The script: screenplay, voice, phones, speech style, moods, looks, blinks, business -> what is asked of the creature.

A method number changes when the answer of a method changes; it is part of every key and of the verdict. Each name has a page
in docs/methods.
"""

METHODS: dict[str, int] = {
    "script/screenplay": 2,
    "script/phones": 1,
    "script/phone_timing": 1,
    "script/alignment": 2,
    "script/voices": 1,
    "script/mouth_shapes": 2,
    "script/speech_styles": 1,
    "script/moods": 1,
    "script/looks": 2,
    "script/blinks": 1,
    "script/life": 1,
    "script/business": 2,
    "script/score": 2,
    "script/demand": 2,
}
