"""An invented barn that has one of everything, and what lies around in it."""

from __future__ import annotations

import csv
from io import StringIO

import ductcalc
from ductcalc.shop import Shop

BARN = """run,piece,machine,style,size,length,angle,count,joins,flow,k,note
main,cap,,,,,,,,,,far end
,pipe,,snap-lock,5 in,23 ft,,,,,,
,pipe,,snap-lock,5 in,2 ft,,,,,,
,wye,,,6 in,,30 + 45,,saw + cap,,,
,pipe,,plastic,6 in,12 ft 3 3/16 in,,,,,,
,wye,,,6 in,,45,,bench,,,
,wye,,y,6 in,,,,sander,,,
,elbow,,,6 in,,90,3,,,,
,pipe,,steel,6 in,4 ft,,,,,,
,other,,,6 in,,,2,,,1,=spark box
,collector,,,150 mm,,,,,,,
saw,port,saw,,100 mm,,,,,off,,
,port,lathe,plain,80 mm,,,,,,,
,flex,,,4 in,60 ft,,,,,,
,flex,,,4 in,1 ft,,,,,,
,reducer,,,5 in,,45,,,,,
,gate,,,5 in,,,,,,,
sander,like,sander,,,,,,bench,,,
bench,port,bench,,100 mm,,,,,,,
,flex,,,100 mm,1.2 m,,,,,,
,gate,,,4 in,,,,,,,
out,collector,,,7 in,,,,,,,
,pipe,,,8 in,2 x 10 ft,,,,,,
,elbow,,,8 in,,45,2,,,,
"""
STOCK = """piece,style,size,length,angle,count
pipe,snap-lock,5 in,4 ft,,1
pipe,spiral,8 in,9 ft,,1
flex,,4 in,11 ft,,1
elbow,,6 in,,,2
elbow,pleated,6 in,,90,1
gate,,4 in,,,5
adapter,,4 in x 100 mm,,,1
sealant,,,,,1
"""
PRICES = """piece,style,size,length,price
pipe,,,,20
pipe,snap-lock,5 in,5 ft,8.5
flex,,,,1
flex,,,50 ft,40
gate,,,,12
wye,,,,25
"""


def barn(**settings: object) -> Shop:
    return ductcalc.shop_from_rows(rows_of(BARN), settings=settings, name="barn")


def rows_of(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(StringIO(text), strict=True))
