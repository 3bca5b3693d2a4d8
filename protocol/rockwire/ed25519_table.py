"""Multiples of Ed25519's base point B, worked out beforehand, for the comb of ed25519.py.

A factor is written as 260 digits, each +1 or -1, and laid out in 5 rows of 52 (the teeth of the
comb); a column of 5 digits then picks one entry. With the last row's sign taken out, 16 entries
serve every column. A second block of them, 26 doublings further on, halves the doublings.

Entry `index` of block `block` is the point sum(+-2**(52*tooth + 26*block) for tooth in 0..4) * B:
plus for the last tooth and where bit `tooth` of the index is set, minus elsewhere. It is kept as
y+x, y-x and 2dxy modulo 2**255-19, 32 bytes each, little-endian, in 128 characters of base64:
4 KB of text that stays in flash where the modules are frozen. A test works all of it out again.
"""

from binascii import a2b_base64

TEETH = 5
BLOCKS = 2
SPAN = 26

_TEXT = (
    b"egB+9DBqSInEkpuM1PuMfcJ5SFPn5+mnw7rfMfQhImhEtua0i/jadudW9N09e6Rh"
    b"5SmBHFyHpY5xs1seYWulY0FZtVwFVmwJhBr/Ar9meXZUJT++sVpsqB2nk8pSYJ5b"
    b"nHZvi8nFelPY5MMbTJqQ2KQpHAZm2jN8UTlEA3Y04lWRs/5skKzKtjoWU2KzVCzi"
    b"XPBbrMInqugmHAiXCj/FQTb67rDyshLVD3HtCXsfQR69BSlk9+I5dShHLAoSbtcq"
    b"bKyzb4J46fc6weXIAroaHpBCIf3uqw2YVFn5XpF7uW08IHh1d/LIaAGiK6aCLgZs"
    b"e7ei8f+DO8AeOzVt31k9FSV6auTebUmU/vCVG5fTIMrPtSCwbEOUA4/haJXBvUpO"
    b"FhsTcK0JlZAewtg+Od/yNAyVDOeKXh9I6JV1r9QtGiNeiLGUqDYW7OE0c01pGqq9"
    b"0oKlw1GKmdXtu2KL6Br3QXGBlJydGQs1tcFWMhfJ0YBEEcdVvMDFnDxubJY9ArAF"
    b"57LJbZAMCmse26XvjfacW08jZ1t63gKtiEmjBL0DixpXXea4jLp4qtQ5Y5yJ4Q5O"
    b"P6Sk+h1AL7fqWFYoYe9oNoKphNQx1c4AWezqgGT4M91E4sOdTrx6mcyYize92zQN"
    b"wr1I9UddHUJr0vbGry3jKWZL6nTSb+gtUsNO/ZddYzwpOaDIu3F3ijU0aF3ltZAg"
    b"X1qogN3WgZ0J4o61iS6/J8kG9P+YvVaj4rspgNyQKamOCrMVjAmwKMn6z++M6YRa"
    b"jXNySMDqlNF7Ju/iU/GBMOLLtfst2qThXL3d0l+i3mvH0rfD85Y85E//ZliVvDER"
    b"y2bIUePT+n0vXrr7+Wyxf8hKPUh2+SWmgXvShZ3Rb29R0Qk5Uy3MkGjPMcdPL7VF"
    b"cXeGZ6lGjNpTMFsZYFd/a2XgcwsIkDLPgvrJIzvXbApQ8Or5+YVT/ddvNPovMNjO"
    b"79My7gUtl5r7zJpTNu9RA7UY/dB5zO+Qtjsh8tDbwH9MuNEIto0paMDiD0qwbRhC"
    b"uTpj+ckqHNEKdQFH/E6mJ/Wm0Fthn+00GfsYcc4G6HilHG4L2jMRzMgb/VSF/hMf"
    b"+kJaqFoMlrjFx5Sl5w2pQP5tU6m2b7j9ivcl4W8NtLSmADC0KWGMepqoyffOfc5W"
    b"RQPxG8cKWXt8SXkC3qXmNiOM2ALJ4HYskDe0SWzHXHXGTjNpzKlJ8ii/DFpYmmmw"
    b"abwJO6n1dnEKQDTrhQ3ffTOLn9D1Ja3Orl1JcnoSiSfK31Jctiy8UCsbXL630A9i"
    b"V2JaUmEVMr2Z1qzr5qy0AV6d87AuqgDRarAxqS9343e3n4fmqyyVEdr+eKt2sNjy"
    b"zCmfWtlIaCmi9NFOnqlWYgkvKCb3QExhHBReibpGk0rY1HrwoR7DEq55+tbBFg5j"
    b"BXkR+X+FifevayziKpcUEsJBn2ob9353ROzH3Upqt2h8Fmo0K4p7lljiSk4owlZr"
    b"CfSNTBrnf0UrHBzFGUCEfXvEpZO2NeKrTcrx5G21Ik8CPApxc76WPsLrD+RSA9gJ"
    b"UtLyRShikBreI62ORPyTt2YUnKEZOwI2xWiAqwGNvDAYccp0EvfcVb1VHPatKiSF"
    b"mg12MZArTBDruyeSWa+PUPXZEbx2izbO8kowEKpSiNC5glT3Fc376GU1tfdDTzVX"
    b"yf3mgmS2J+XXx7Mg6kX4dBJ63Te7+8gTkLjUa7glERDgcWGGNr0rB0DaW9J6C1ub"
    b"8sMutASytytabZ1MEgKaOrEkAfsHm5FaJSbbkIDmgNn+/8TxXHpKDMlQZzLOTgwY"
    b"GDI9B1doSyQ+cXwveZ7tHuD0YHLNC4ccVcBCsyCadz/tKpB9ZfXbhhtdf2QNFDij"
    b"yzFk1+yk3VPNNW2rtnRdQYHk0etukmF76RuHEwyhX3n3oVq6MEnOWynMk/sudUkW"
    b"QWi74rxGOFs1xSqGgGhWyzNM24NSLxCm9lSuYIXSonMq3R5XdwNBiB9H3TLMs0IN"
    b"ihZCTdbquEKOyIHf2+O9P8aiX34l4Tf3Z/3xqjcizsWgEZxlI6vZWAcp8D53zHo1"
    b"M3VT1wVwfixeu0w3zDN4h+gYW3RB/zh7GHtgikuvp060kRUBAbG/MLmMD8q0ZOrS"
    b"UiKHZZj3nETUa/5/wIKsNbf2a1EOQlnJ0hAWAjo7oShWn0ynFb79y6/Ip0Z+L0sk"
    b"EDJWaOJTUTvnXO6mLdCimCnafhdLJNnGAINOzFTqkiiMh4ZkuUKdgJmhcZO5NWDC"
    b"HciftTNMp5h6wY2fFBuNLerTcHSmzckrCSjZMYgBqqDrMBcNpMB2NePuSIyvaZNp"
    b"m66MdrCp+4BaWjtM+sXNKhpduf1kFFsTkmvJ5BW2YFwdNEYN3vf3zMricV7idFKE"
    b"oAEQfGvZb6M9eXlImmVgJXtbdQ6ughxpdh92Zdo4bEI502fPixwlITORq+d0YNN4"
    b"qTeU7MGQ3xlyyJhNHb/1wm9mWSUaQ6rhvHtMUFzzY26iTJ5Kglp+a0JiHvaw/wmM"
    b"2hgF/afgnJxvWPCYpW2GHxtutUHCh1Ze+kmZ4X2mIOC4es1EY1HtCwubZXi5L9l0"
    b"TcUsbHrBKsmJudSA92dGCwcR76SlMIQv8x1gfyXfXG+GB4dzFYMUond6q8PURkTI"
    b"EWwwK67cmxXmH2Ag4jVtNWd+FIZtX8cVw1Io+CAzdfXAdxohXRoq3nQXvE+oFGMT"
    b"fF3g9Cwqtxn39UCT3OzK6rMBccOkmZ5oO5niQe0WWAbg/EP8+MYa9QaWmEtJWE+4"
    b"LHgw/u2u68NS8xqjY52rUQ8Al+NoIqR9kHVtJRqA/AleCtdAte4AE0wuoEGha1Ih"
    b"iWovfjTjaQW6lX0UOefA4nHRHgOlNImx3MlNtnx2pyGw/3oieTSsNBVFCpnkSLgJ"
    b"NTKo1rpxBA+6T9yxcI77Aonar5063dXDZ6Wz087WRXG8cKBcAXqHzi7IuWXBTgY/"
    b"4Hv96ytS6sd3q8y/Ea/X8JLjlRCMn64rc1FO3vr5fw7JtXIpSts4qOfygBNwVOe9"
    b"ngf3ayfsKouH4il5TwBRFYHEDcaBunxhKLr7Xg+PlZ/lrd9x0Pk8D+ix/jDOPQMH"
    b"UQlZAVMLiYwJ43rdnUEPfMACqbpuGwNchOuhL5J9802iyt1P+iuJ58PLsj+rCmUs"
    b"QdU7qSot8qkZ12KerXRdLzFiWsXi0Ssb2//ckFH0e5uLQwAULCesOTXk9/QM5JYG"
    b"e3Io6s0pRdlWBTol0dTxF18ZUZaAZQHGd4yMvzXvjhdxedLHStxM6alx5lRbc7cI"
    b"/k2KVb6Q/sigorxXeEudSo73D9up2yssSpRzoAplCZfZyWB8K2lPQmKP7yksfDZr"
    b"xSai8G/Wqv8a4sy3FA3mucpv19qNbP03IvfoUyfqaU+LiEAaaxPuTIC18b4sbnxZ"
    b"TXBX9MWTMjJ3ASJGLjJjGKeXApbyTLoQpbrNeILzgvCcQcT29PL7Z0FVtvfBjg4p"
    b"9IjMw+7aAJE6x4EWcnrfVVBwDGBATEknlVKfoadI8XwyoiiTd8jMFojA8smxAoji"
    b"ul3YWi/udDoLS9UVb7YYO4KANjJmvuK6S9Erc837CwbKAp+qDmvV6ivNmaQGYFYH"
    b"YtMpnz346VyxxSrQCsUqD0p0WlORKxymAV0BmBjijxLhkX1pZAMjXUD3IozbatcW"
    b"Lc72r4lpqCiFTMWHiZFjFyR4VX5u+c56PbOuRzBi4F6IqqMTpEDEb6CVODM2OJsC"
    b"l1/hLLFzmdbZqvXM0/Rw1yQ27avpkDmPgdoO8mo3Mj2qBMW3+pSxlQsIMx+uES5c"
    b"WAwm18HRHhIzb2buRUCdTOiKr9J3ytSR/czMYbRKZGOGNhh6DVPQGbdluRdOJrZB"
    b"GyzHjMkLg4Fm7ZjKS/YKirx73mVceP0we7lZkqjY9hMQawaUysJL+QRCYQMcVfBd"
    b"jd63wFCqQP2LESMEVnAeAVC8WKChyMoFD0JSG7sdY4yjALYRiKbOgc5DVtsSNvlF"
    b"s2F75phz8xYiloHZBEHz0AJ4QhMQERzs/1Wj4nzsvSVazLbkHzt2NpDQwF6jicOy"
    b"DiOopmrh5oefUxCcm19xSk0aTInU/CZRolLGRpaI46kf/zReyeOTGZ4kz8M4LG45"
)


def entry(block: int, index: int) -> bytes:
    """Return the 96 bytes of one entry."""
    at = 128 * (block << (TEETH - 1) | index)
    return a2b_base64(_TEXT[at : at + 128])
