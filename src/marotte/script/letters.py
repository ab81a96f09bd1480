"""English spelling -> phones by the letter-to-sound rules of the Naval Research Laboratory.

Source: H. S. Elovitz, R. W. Johnson, A. McHugh, J. E. Shore, *Automatic Translation of English Text to Phonetics by Means of
Letter-to-Sound Rules*, NRL Report 7948, January 1976 (a work of the US government, in the public domain). The rules were
taken from secondary copies of the report, two of which were compared; the phone names are written in ARPAbet, the report's
AX as AH and WH as W. Departures: a final R after a consonant (as in ``sabr``) gets its vowel.

The report's notation: ``left[letters]right=phones``; the first rule that fits, from the left, is used.

| sign | fits |
| --- | --- |
| ``#`` | one or more vowels (A E I O U Y) |
| ``:`` | no or more consonants |
| ``^`` | one consonant |
| ``.`` | one voiced consonant: B D V G J L M N R W Z |
| ``%`` | a suffix: ER E ES ED ING ELY |
| ``+`` | a front vowel: E I Y |
| ``_`` | the edge of the word |
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Final

_TABLE: Final = """
[A]_=AH  _[ARE]_=AA R  _[AR]O=AH R  [AR]#=EH R  ^[AS]#=EY S  [A]WA=AH  [AW]=AO  _:[ANY]=EH N IY  [A]^+#=EY
#:[ALLY]=AH L IY  _[AL]#=AH L  [AGAIN]=AH G EH N  #:[AG]E=IH JH  [A]^+:#=AE  _:[A]^+_=EY  [A]^%=EY  _[ARR]=AH R
[ARR]=AE R  _:[AR]_=AA R  [AR]_=ER  [AR]=AA R  [AIR]=EH R  [AI]=EY  [AY]=EY  [AU]=AO  #:[AL]_=AH L  #:[ALS]_=AH L Z
[ALK]=AO K  [AL]^=AO L  _:[ABLE]=EY B AH L  [ABLE]=AH B AH L  [ANG]+=EY N JH  [A]=AE
_[BE]^#=B IH  [BEING]=B IY IH NG  _[BOTH]_=B OW TH  _[BUS]#=B IH Z  [BUIL]=B IH L  [B]=B
_[CH]^=K  ^E[CH]=K  [CH]=CH  _S[CI]#=S AY  [CI]A=SH  [CI]O=SH  [CI]EN=SH  [C]+=S  [CK]=K  [COM]%=K AH M  [C]=K
#:[DED]_=D IH D  .E[D]_=D  #:^E[D]_=T  _[DE]^#=D IH  _[DO]_=D UW  _[DOES]=D AH Z  _[DOING]=D UW IH NG  _[DOW]=D AW
[DU]A=JH UW  [D]=D
#:[E]_=  '^:[E]_=  _:[E]_=IY  #[ED]_=D  #:[E]D_=  [EV]ER=EH V  [E]^%=IY  [ERI]#=IY R IY  [ERI]=EH R IH  #:[ER]#=ER
[ER]#=EH R  [ER]=ER  _[EVEN]=IY V EH N  #:[E]W=  T[EW]=UW  S[EW]=UW  R[EW]=UW  D[EW]=UW  L[EW]=UW  Z[EW]=UW  N[EW]=UW
J[EW]=UW  TH[EW]=UW  CH[EW]=UW  SH[EW]=UW  [EW]=Y UW  [E]O=IY  #:S[ES]_=IH Z  #:C[ES]_=IH Z  #:G[ES]_=IH Z
#:Z[ES]_=IH Z  #:X[ES]_=IH Z  #:J[ES]_=IH Z  #:CH[ES]_=IH Z  #:SH[ES]_=IH Z  #:[E]S_=  #:[ELY]_=L IY  #:[EMENT]=M EH N T
[EFUL]=F UH L  [EE]=IY  [EARN]=ER N  _[EAR]^=ER  [EAD]=EH D  #:[EA]_=IY AH  [EA]SU=EH  [EA]=IY  [EIGH]=EY  [EI]=IY
_[EYE]=AY  [EY]=IY  [EU]=Y UW  [E]=EH
[FUL]=F UH L  [F]=F
[GIV]=G IH V  _[G]I^=G  [GE]T=G EH  SU[GGES]=G JH EH S  [GG]=G  _B#[G]=G  [G]+=JH  [GREAT]=G R EY T  #[GH]=  [G]=G
_[HAV]=HH AE V  _[HERE]=HH IY R  _[HOUR]=AW ER  [HOW]=HH AW  [H]#=HH  [H]=
_[IN]=IH N  _[I]_=AY  [IN]D=AY N  [IER]=IY ER  #:R[IED]=IY D  [IED]_=AY D  [IEN]=IY EH N  [IE]T=AY EH  _:[I]%=AY  [I]%=IY
[IE]=IY  [I]^+:#=IH  [IR]#=AY R  [IZ]%=AY Z  [IS]%=AY Z  [I]D%=AY  +^[I]^+=IH  [I]T%=AY  #:^[I]^+=IH  [I]^+=AY  [IR]=ER
[IGH]=AY  [ILD]=AY L D  [IGN]_=AY N  [IGN]^=AY N  [IGN]%=AY N  [IQUE]=IY K  [I]=IH
[J]=JH
_[K]N=  [K]=K
[LO]C#=L OW  L[L]=  #:^[L]%=AH L  [LEAD]=L IY D  [L]=L
[MOV]=M UW V  [M]=M
E[NG]+=N JH  [NG]R=NG G  [NG]#=NG G  [NGL]%=NG G AH L  [NG]=NG  [NK]=NG K  _[NOW]_=N AW  [N]=N
[OF]_=AH V  [OROUGH]=ER OW  #:[OR]_=ER  #:[ORS]_=ER Z  [OR]=AO R  _[ONE]=W AH N  [OW]=OW  _[OVER]=OW V ER  [OV]=AH V
[O]^%=OW  [O]^EN=OW  [O]^I#=OW  [OL]D=OW L  [OUGHT]=AO T  [OUGH]=AH F  _[OU]=AW  H[OU]S#=AW  [OUS]=AH S  [OUR]=AO R
[OULD]=UH D  ^[OU]^L=AH  [OUP]=UW P  [OU]=AW  [OY]=OY  [OING]=OW IH NG  [OI]=OY  [OOR]=AO R  [OOK]=UH K  [OOD]=UH D
[OO]=UW  [O]E=OW  [O]_=OW  [OA]=OW  _[ONLY]=OW N L IY  _[ONCE]=W AH N S  [ON'T]=OW N T  C[O]N=AA  [O]NG=AO  _:^[O]N=AH
I[ON]=AH N  #:[ON]_=AH N  #^[ON]=AH N  [O]ST_=OW  [OF]^=AO F  [OTHER]=AH DH ER  [OSS]_=AO S  #:^[OM]=AH M  [O]=AA
[PH]=F  [PEOP]=P IY P  [POW]=P AW  [PUT]_=P UH T  [P]=P
[QUAR]=K W AO R  [QU]=K W  [Q]=K
_[RE]^#=R IY  ^[R]_=ER  [R]=R
[SH]=SH  #[SION]=ZH AH N  [SOME]=S AH M  #[SUR]#=ZH ER  [SUR]#=SH ER  #[SU]#=ZH UW  #[SSU]#=SH UW  #[SED]_=Z D  #[S]#=Z
[SAID]=S EH D  ^[SION]=SH AH N  [S]S=  .[S]_=Z  #:.E[S]_=Z  #:^##[S]_=Z  #:^#[S]_=S  U[S]_=S  _:#[S]_=Z  _[SCH]=S K
[S]C+=  #[SM]=Z M  #[SN]'=Z AH N  [S]=S
_[THE]_=DH AH  [TO]_=T UW  [THAT]_=DH AE T  _[THIS]_=DH IH S  _[THEY]=DH EY  _[THERE]=DH EH R  [THER]=DH ER
[THEIR]=DH EH R  _[THAN]_=DH AE N  _[THEM]_=DH EH M  [THESE]_=DH IY Z  _[THEN]=DH EH N  [THROUGH]=TH R UW  [THOSE]=DH OW Z
[THOUGH]_=DH OW  _[THUS]=DH AH S  [TH]=TH  #:[TED]_=T IH D  S[TI]#N=CH  [TI]O=SH  [TI]A=SH  [TIEN]=SH AH N  [TUR]#=CH ER
[TU]A=CH UW  _[TWO]=T UW  [T]=T
_[UN]I=Y UW N  _[UN]=AH N  _[UPON]=AH P AO N  T[UR]#=UH R  S[UR]#=UH R  R[UR]#=UH R  D[UR]#=UH R  L[UR]#=UH R  Z[UR]#=UH R
N[UR]#=UH R  J[UR]#=UH R  TH[UR]#=UH R  CH[UR]#=UH R  SH[UR]#=UH R  [UR]#=Y UH R  [UR]=ER  [U]^_=AH  [U]^^=AH  [UY]=AY
_G[U]#=  G[U]%=  G[U]#=W  #N[U]=Y UW  T[U]=UW  S[U]=UW  R[U]=UW  D[U]=UW  L[U]=UW  Z[U]=UW  N[U]=UW  J[U]=UW  TH[U]=UW
CH[U]=UW  SH[U]=UW  [U]=Y UW
[VIEW]=V Y UW  [V]=V
_[WERE]=W ER  [WA]S=W AA  [WA]T=W AA  [WHERE]=W EH R  [WHAT]=W AA T  [WHOL]=HH OW L  [WHO]=HH UW  [WH]=W  [WAR]=W AO R
[WOR]^=W ER  [WR]=R  [W]=W
[X]=K S
[YOUNG]=Y AH NG  _[YOU]=Y UW  _[YES]=Y EH S  _[Y]=Y  #:^[Y]_=IY  #:^[Y]I=IY  _:[Y]_=AY  _:[Y]#=AY  _:[Y]^+:#=IH  _:[Y]^#=AY
[Y]=IH
[Z]=Z
"""
_VOWEL = "[AEIOUY]"
_CONSONANT = "[BCDFGHJKLMNPQRSTVWXZ]"
_SIGNS: Final = {
    "#": f"{_VOWEL}+", ":": f"{_CONSONANT}*", "^": _CONSONANT, ".": "[BDVGJLMNRWZ]", "%": "(?:ER|ES|ED|ING|ELY|E)", "+": "[EIY]", "_": "_",
}  # fmt: skip
_RULE = re.compile(r"(\S*?)\[([A-Z']+)\](\S*?)=([A-Z ]*)(?:  |\Z)")


class _Rule:
    """One rule: the letters it takes, what must stand before and behind, and the phones."""

    __slots__ = ("left", "letters", "phones", "right")

    def __init__(self, left: str, letters: str, right: str, phones: str) -> None:
        self.letters = letters
        self.left = re.compile("".join(_SIGNS.get(c, re.escape(c)) for c in left) + r"\Z") if left else None
        self.right = re.compile("".join(_SIGNS.get(c, re.escape(c)) for c in right)) if right else None
        self.phones = tuple(phones.split())


@lru_cache(maxsize=1)
def rules() -> dict[str, tuple[_Rule, ...]]:
    """Return the rules by their first letter, in the order of the report."""
    out: dict[str, list[_Rule]] = {}
    for line in _TABLE.strip().splitlines():
        for match in _RULE.finditer(line):
            rule = _Rule(match[1], match[2], match[3], match[4])
            out.setdefault(rule.letters[0], []).append(rule)
    return {letter: tuple(found) for letter, found in out.items()}


def letters_to_phones(word: str) -> tuple[str, ...]:
    """Return the phones of a spelling, without stress; letters that no rule takes are silent.

    Never empty: a word without a vowel sound gets AH, so that it can be said.
    """
    text = "_" + re.sub(r"[^A-Z']", "", word.upper()) + "_"
    out: list[str] = []
    at = 1
    while at < len(text) - 1:
        for rule in rules().get(text[at], ()):
            if not text.startswith(rule.letters, at):
                continue
            if rule.left is not None and not rule.left.search(text[:at]):
                continue
            if rule.right is not None and not rule.right.match(text, at + len(rule.letters)):
                continue
            out.extend(rule.phones)
            at += len(rule.letters)
            break
        else:
            at += 1
    doubled = [p for k, p in enumerate(out) if k == 0 or p != out[k - 1] or p[0] in "AEIOU"]
    return tuple(doubled) if doubled else ("AH",)
