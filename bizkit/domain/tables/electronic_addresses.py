"""Schemes of electronic addresses (EAS): what the code before `:` of an `endpoint` may be.

Sources: the code list of rule BR-CL-25 in the CEN validation artefacts for EN 16931, release 1.3.16 of April 2026
(104 codes); the code list of rule PEPPOL-EN16931-CL008 in Peppol BIS Billing 3, release 3.0.19 of May 2025 (92 codes,
all of them in the former). Both read 2026-11-25. EM, an e-mail address, is in the first and not in the second.
"""

from __future__ import annotations

from typing import Final

_PEPPOL: Final = """
0002 0007 0009 0037 0060 0088 0096 0097 0106 0130 0135 0142 0147 0151 0154 0158 0170 0177 0183 0184 0188 0190 0191
0192 0193 0194 0195 0196 0198 0199 0200 0201 0202 0203 0204 0205 0208 0209 0210 0211 0212 0213 0215 0216 0217 0218
0221 0225 0230 0235 0240 9910 9913 9914 9915 9918 9919 9920 9922 9923 9924 9925 9926 9927 9928 9929 9930 9931 9932
9933 9934 9935 9936 9937 9938 9939 9940 9941 9942 9943 9944 9945 9946 9947 9948 9949 9950 9951 9952 9953 9957 9959
"""
_NORM_ALONE: Final = "0219 0220 0242 0244 0245 0246 0248 AN AQ AS AU EM"

#: Schemes that an invoice sent through Peppol may address.
PEPPOL_EAS: Final[frozenset[str]] = frozenset(_PEPPOL.split())

#: Schemes of the norm: those of Peppol and a few more.
EAS: Final[frozenset[str]] = PEPPOL_EAS | frozenset(_NORM_ALONE.split())
