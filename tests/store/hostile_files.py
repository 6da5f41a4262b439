"""Files that only other programs write: HDF5 with parts that no result has, and bloated ones."""

from __future__ import annotations

import base64
import re
import struct
import zlib
from pathlib import Path

import netCDF4
import numpy as np

PACKED = {
    "link to another file": (
        "c-rgqaB<`1lHy|G;9!7(|4^_U$~S=0D{E!F{5@QPm>6o9gpd`&02dPjBLjn|5CaRQ91qYGW(Ix+9*|^FeojttW^R"
        "01eo<~>34;L8Ziw{`3`{_h5o#eD&=y7x2gVX^28M#nf>gZ>Q-%tLA3qhp0RY1gJ8="
    ),
    "link within the file": (
        "c-rgqaB<`1lHy|G;9!7(|4<+S6*7Q|?~q^n!{5Uth>4*>K!AZ^KO;m~4=T;Y!~hf#6=GmP7y$!3Kr@&b_!)RWl12"
        "GBImMZ|@oD)*xrrqV0zhjZHaRdb0ZFK_3~Zc0HU}eP2@`{UDNr{E)XJ=u13Q6{fss*!fq{vUk&zjy9!`reFbXQz!"
        "_73|W-$2=lw<|EkC}@@2&jS)D#;)L^YaFVAqTd`2=)3qdw4SmAx9bvu<?LGlCg9%RQ00fcT*Wg!6+C7qhJ(_0&L)"
        "eJ(S@90G-%HQv"
    ),
    "bytes of another file": (
        "c-rgqaB<`1lHy|G;9!7(|4{Iq5yCfsiqC426Z7|Q31VWXU=l)B2m@S93_vZSLJTaJay&p&m>KvPctDax`8heonYr"
        "<4`9-;jB@6;UyCK#)Ffaj0sJ#qqd>}S+QDXUKsK}(t?(@M;U}Ruq6k%XsVq|0#fXcyWW*!DckckjeI2c%gu43k5*"
        "8u7Oo6X3uA8G-@%cv%B0DZ^I2y;11l%a=VP=V(;Nmo2v9RomY38)w><nA+~sx3}UE=n!YE2$`f@BxyqO&I"
    ),
    "arrays of another file": (
        "c-rgqaB<`1lHy|G;9!7(|4_gn0pS}!#V>ih+UM`#62!z%!6byN5C*uI7#JBCM1>ewFy(lFrZ6+`Gw^^Ui}G`FiZg"
        "TL)AEaQ6H6EbfObQycVJ)wl8jIb*?2%~#<I<Dr+GfuKM(8##jm&6vym|aBclid0}~@7BP&!bjAj;LU=&oahudJn&"
        "0zAM87L2QEi*R<9|HpmGgJ~{^A?672@Y(umSq?PqhJ(_f>AIEhym`-{yyMJPXMU`1OgA30+>L4Nk(dsUWO?{1+W@"
        "N2!jA}l`Q~e!}!3;p5bn%mMKi_4F1tD9|fae6pVsVFbYP&C>RB!U=)mkQ7{VV4FCw@Ptg"
    ),
    "group": (
        "c-rgqaB<`1lHy|G;9!7(|4?AY2;mz*#WxGTv-9_G31VWXU=l)B2m@S93_vZSLJTaJay&p&m>KvPctDax`8heonYr"
        "<4`9-;jB@6;UyCK#)Ffaj0sJ#qqJRmk>`ewM(HZyO?C&CE~5ezf~M|YlB0{{nLOnm"
    ),
    "type": (
        "c-rgqaB<`1lHy|G;9!7(|4_id2;mz*#Vw9+UE}ZJ62!z%!6byN5C*uIKw3nF7+5gncz~ubGw?I;fFz6Zb8?C^bK}"
        "$Ui*gf77zBWJL#%gTU;>g*dl}exL2Ray%FQsRg@zwD1v^3E>n-+dWNgH&$G~a^)Xf7_mdL;$s9+B_(}bJB<Ucb5L"
        "lOfA$SM}FumZzt&ns2{)Lck|"
    ),
    "of another program": (
        "c-rgqaB<`1lHy|G;9!7(|4?876*7Q|UyT!8<nQ4U#Kcg+B!sLG2Dq3Q7#SGY#2A1ScS&k)L26NANoi5)W~c#dJRl"
        "jy^!<!b0X+s1fp@?o9<URD#xSZdFfcJOGBQEsn4vT}pIL-~QBc920pc461`}=ulm9?TR-kK{xj2A6VP<4N^D4svh"
        "CvVX5Bo_G6CIF1uW*8eiwE_ba6zxa6&@Wdkf3MgVPF&h1}7}Ik%QR)8qDytc7kEp0Bw&e4;e<mC>RB!V2FYb_E3f"
        "cw48?00#I7S0akMZ002KoFa"
    ),
    "texts of an attribute": (
        "c-pJD_4bBso^YT@!^Ph`f{RZixO+Ve*vR9RY_P*Y$w^abmW3mu>!#$Bo{ZKUyBC}>(uic>Ug*dC`Lo)mfWUx>#a#"
        "D)rv14WadF8^{mtU~@_F|6`n&><{FOMiEdJ(pdF#1(>(77osf>GCc{lsK{fhOypMECZ`+supvifJA+4GlQKKu9o9"
        "{%#%IlprD&uZV<ZL|OTuKU^Z5C5$%x&N(l?tW>L&&w?D_b>lh*ZgTm$JeZlJ1nB*Y9rQ8KR*5Gu0?-)AD?@lm2RK"
        "5Q~qe)&$Hd%mp?!Ldh^wbPhT!Cs(iCF<bGwv?qx65-2bDzq-y^+yXdcV-B*7e|IuB0Z1Tak_UWHyFfuSO9H@VK^|"
        "Sf<)!*wrdw#Cl{5fvJ7fFUuFbYP&kOw<9mnBI|U7Zp0eb&wXkG`hCIY;w)9;IxxSy`pOwCd=FePNof&QF>3%c|p?"
        "jQ^?Tz~VVuu0>_9-8v`<X4-~T!?pac#Yv0+8F?Au"
    ),
}
"""Made with h5py, then zlib and base 85; all but the foreign one say that they are results."""

REFERENCE = 16
"""Bytes of a reference to a text in HDF5."""


def unpack(kind: str, path: Path) -> None:
    """One of PACKED as a file."""
    data = zlib.decompress(base64.b85decode(PACKED[kind]))
    path.write_bytes(zlib.decompress(data) if data[:1] == b"\x78" else data)


def text_bomb(path: Path, count: int = 4000) -> None:
    """A file of a megabyte or two whose many texts of a megabyte are one and the same."""
    with netCDF4.Dataset(str(path), "w") as file:
        file.setncatts({"rollsim_format": np.int64(1), "scenario_text": ""})
        file.setncattr_string("long", "y" * 1_000_000)
        file.createDimension("case", count)
        stored = file.createVariable("condition", str, ("case",), contiguous=True)
        stored[:] = np.array(["z"] * count, dtype=object)
    data = bytearray(path.read_bytes())
    long = data.find(struct.pack("<I", 1_000_000))
    short = re.search(rb"(?:\x01\0\0\0.{12}){100}", data, re.DOTALL)
    assert short is not None
    end = short.start() + count * REFERENCE
    data[short.start() : end] = data[long : long + REFERENCE] * count
    path.write_bytes(data)


def claims(path: Path, dimension: str, *, text: bool = False) -> None:
    """A small file that claims 10^12 numbers or texts along a dimension."""
    with netCDF4.Dataset(str(path), "w") as file:
        file.setncatts({"rollsim_format": np.int64(1), "scenario_text": ""})
        file.createDimension(dimension, 10**12)
        kind = str if text else "f8"
        file.createVariable(dimension, kind, (dimension,), chunksizes=(1 << 16,))
