"""The kin of chips that ship: gates, decoders, registers and bus chips, their pin-outs, written a
second time.

From memory of the data books, going around the package; most were compared with an open list of
pin-outs, and those of 568, 569, 575, 576, 543, 824, 842, 873, 874, 876 and 880 with copies of data
sheets.
"""

import pytest

from breadproof.specs.catalogue.catalogue import Catalogue
from breadproof.specs.catalogue.part import PinKind

CATALOGUE = Catalogue()

PINS = {
    "01": "Y1* A1 B1 Y2* A2 B2 GND / VCC Y4* B4 A4 Y3* B3 A3",
    "12": "A1 B1 A2 B2 C2 Y2* GND / VCC C1 Y1* C3 B3 A3 Y3*",
    "15": "A1 B1 A2 B2 C2 Y2* GND / VCC C1 Y1* C3 B3 A3 Y3*",
    "16": "A1 Y1* A2 Y2* A3 Y3* GND / VCC A6 Y6* A5 Y5* A4 Y4*",
    "17": "A1 Y1* A2 Y2* A3 Y3* GND / VCC A6 Y6* A5 Y5* A4 Y4*",
    "18": "A1 B1 NC C1 D1 Y1* GND / VCC D2 C2 NC B2 A2 Y2*",
    "19": "A1 Y1* A2 Y2* A3 Y3* GND / VCC A6 Y6* A5 Y5* A4 Y4*",
    "22": "A1 B1 NC C1 D1 Y1* GND / VCC D2 C2 NC B2 A2 Y2*",
    "24": "A1 B1 Y1* A2 B2 Y2* GND / VCC B4 A4 Y4* B3 A3 Y3*",
    "33": "Y1* A1 B1 Y2* A2 B2 GND / VCC Y4* B4 A4 Y3* B3 A3",
    "45": "Y0_n* Y1_n* Y2_n* Y3_n* Y4_n* Y5_n* Y6_n* GND / VCC A B C D Y9_n* Y8_n* Y7_n*",
    "58": "A1 A2 B2 C2 D2 Y2* GND / VCC C1 B1 F1 E1 D1 Y1*",
    "78": "CLK PRE1_n J1 VCC CLR_n PRE2_n K2 / K1 Q1* Q1_n* GND J2 Q2_n* Q2*",
    "91": "NC NC NC NC VCC NC NC / Q7_n* Q7* A B GND CLK NC",
    "92": "CKB NC NC NC VCC R01 R02 / CKA NC Q0* Q1* GND Q2* Q3*",
    "96": "CLK D0 D1 D2 VCC D3 D4 PE / CLR_n Q0* Q1* Q2* GND Q3* Q4* SER",
    "113": "CLK1 K1 J1 PRE1_n Q1* Q1_n* GND / VCC CLK2 K2 J2 PRE2_n Q2* Q2_n*",
    "114": "CLR_n K1 J1 PRE1_n Q1* Q1_n* GND / VCC CLK K2 J2 PRE2_n Q2* Q2_n*",
    "116": "CLR1_n C11_n C12_n D11 Q11* D12 Q12* D13 Q13* D14 Q14* GND"
    " / VCC Q24* D24 Q23* D23 Q22* D22 Q21* D21 C22_n C21_n CLR2_n",
    "128": "Y1* A1 B1 Y2* A2 B2 GND / VCC Y4* B4 A4 Y3* B3 A3",
    "135": "A1 B1 Y1* C12 A2 B2 Y2* GND / VCC B4 A4 Y4* C34 B3 A3 Y3*",
    "136": "A1 B1 Y1* A2 B2 Y2* GND / VCC B4 A4 Y4* B3 A3 Y3*",
    "140": "A1 B1 NC C1 D1 Y1* GND / VCC D2 C2 NC B2 A2 Y2*",
    "145": "Y0_n* Y1_n* Y2_n* Y3_n* Y4_n* Y5_n* Y6_n* GND / VCC A B C D Y9_n* Y8_n* Y7_n*",
    "147": "I4_n I5_n I6_n I7_n I8_n C_n* B_n* GND / VCC NC D_n* I3_n I2_n I1_n I9_n A_n*",
    "155": "C1 G1_n B Y13_n* Y12_n* Y11_n* Y10_n* GND"
    " / VCC C2_n G2_n A Y23_n* Y22_n* Y21_n* Y20_n*",
    "156": "C1 G1_n B Y13_n* Y12_n* Y11_n* Y10_n* GND"
    " / VCC C2_n G2_n A Y23_n* Y22_n* Y21_n* Y20_n*",
    "159": "Y0_n* Y1_n* Y2_n* Y3_n* Y4_n* Y5_n* Y6_n* Y7_n* Y8_n* Y9_n* Y10_n* GND"
    " / VCC A B C D G2_n G1_n Y15_n* Y14_n* Y13_n* Y12_n* Y11_n*",
    "168": "U_D_n CLK D0 D1 D2 D3 ENP_n GND / VCC RCO_n* Q0* Q1* Q2* Q3* ENT_n LD_n",
    "176": "LD_n Q2* D2 D0 Q0* CLK2 GND / VCC CLR_n Q3* D3 D1 Q1* CLK1",
    "177": "LD_n Q2* D2 D0 Q0* CLK2 GND / VCC CLR_n Q3* D3 D1 Q1* CLK1",
    "180": "G H EVEN_IN ODD_IN EVEN* ODD* GND / VCC F E D C B A",
    "183": "A1 NC B1 CN1 CO1* S1* GND / VCC A2 B2 CN2 CO2* NC S2*",
    "196": "LD_n Q2* D2 D0 Q0* CLK2 GND / VCC CLR_n Q3* D3 D1 Q1* CLK1",
    "197": "LD_n Q2* D2 D0 Q0* CLK2 GND / VCC CLR_n Q3* D3 D1 Q1* CLK1",
    "199": "K_n J D0 Q0* D1 Q1* D2 Q2* D3 Q3* CLK_INH GND"
    " / VCC SH_LD_n D7 Q7* D6 Q6* D5 Q5* D4 Q4* CLR_n CLK",
    "237": "A0 A1 A2 GL_n G2_n G1 Y7* GND / VCC Y0* Y1* Y2* Y3* Y4* Y5* Y6*",
    "239": "G1_n A1 B1 Y10* Y11* Y12* Y13* GND / VCC G2_n A2 B2 Y20* Y21* Y22* Y23*",
    "242": "GAB_n NC A1* A2* A3* A4* GND / VCC GBA NC B1* B2* B3* B4*",
    "256": "A0 A1 DA QA0* QA1* QA2* QA3* GND / VCC CLR_n LE_n DB QB3* QB2* QB1* QB0*",
    "279": "R1_n S11_n S12_n Q1* R2_n S2_n Q2* GND / VCC S4_n R4_n Q4* S32_n S31_n R3_n Q3*",
    "290": "R91 NC R92 Q2* Q1* NC GND / VCC R02 R01 CKB CKA Q0* Q3*",
    "295": "SER D0 D1 D2 D3 LD_SH_n GND / VCC Q0* Q1* Q2* Q3* CLK OC",
    "298": "B2 A2 A1 B1 C2 D2 D1 GND / VCC QA* QB* QC* QD* CLK WS C1",
    "348": "I4_n I5_n I6_n I7_n EI_n A2_n* A1_n* GND / VCC EO_n* GS_n* I3_n I2_n I1_n I0_n A0_n*",
    "352": "G1_n B C13 C12 C11 C10 Y1* GND / VCC G2_n A C23 C22 C21 C20 Y2*",
    "353": "G1_n B C13 C12 C11 C10 Y1* GND / VCC G2_n A C23 C22 C21 C20 Y2*",
    "354": "D7 D6 D5 D4 D3 D2 D1 D0 DC_n GND / VCC Y* W* G3 G2_n G1_n S0 S1 S2 SC_n",
    "356": "D7 D6 D5 D4 D3 D2 D1 D0 CLK GND / VCC Y* W* G3 G2_n G1_n S0 S1 S2 SC_n",
    "363": "OE_n Q0* D0 D1 Q1* Q2* D2 D3 Q3* GND / VCC Q7* D7 D6 Q6* Q5* D5 D4 Q4* LE",
    "364": "OE_n Q0* D0 D1 Q1* Q2* D2 D3 Q3* GND / VCC Q7* D7 D6 Q6* Q5* D5 D4 Q4* CLK",
    "375": "D1 Q1_n* Q1* C12 Q2* Q2_n* D2 GND / VCC D4 Q4_n* Q4* C34 Q3* Q3_n* D3",
    "378": "G_n Q0* D0 D1 Q1* D2 Q2* GND / VCC Q5* D5 D4 Q4* D3 Q3* CLK",
    "379": "G_n Q0* Q0_n* D0 D1 Q1_n* Q1* GND / VCC Q3* Q3_n* D3 D2 Q2_n* Q2* CLK",
    "386": "A1 B1 Y1* Y2* A2 B2 GND / VCC B4 A4 Y4* Y3* B3 A3",
    "390": "CKA1 CLR1 Q1A* CKB1 Q1B* Q1C* Q1D* GND / VCC CKA2 CLR2 Q2A* CKB2 Q2B* Q2C* Q2D*",
    "395": "CLR_n SER D0 D1 D2 D3 LD_SH_n GND / VCC Q0* Q1* Q2* Q3* Q3S* CLK OC_n",
    "398": "WS QA* QA_n* A1 A2 B2 B1 QB_n* QB* GND / VCC QD* QD_n* D1 D2 C2 C1 QC_n* QC* CLK",
    "399": "WS QA* A1 A2 B2 B1 QB* GND / VCC QD* D1 D2 C2 C1 QC* CLK",
    "465": "G1_n A1 Y1* A2 Y2* A3 Y3* A4 Y4* GND / VCC G2_n A8 Y8* A7 Y7* A6 Y6* A5 Y5*",
    "466": "G1_n A1 Y1* A2 Y2* A3 Y3* A4 Y4* GND / VCC G2_n A8 Y8* A7 Y7* A6 Y6* A5 Y5*",
    "467": "G1_n A11 Y11* A12 Y12* A13 Y13* A14 Y14* GND"
    " / VCC G2_n A24 Y24* A23 Y23* A22 Y22* A21 Y21*",
    "468": "G1_n A11 Y11* A12 Y12* A13 Y13* A14 Y14* GND"
    " / VCC G2_n A24 Y24* A23 Y23* A22 Y22* A21 Y21*",
    "490": "CLK1 CLR1 Q1A* SET1 Q1B* Q1C* Q1D* GND / VCC CLK2 CLR2 Q2A* SET2 Q2B* Q2C* Q2D*",
    "518": "G_n P0 Q0 P1 Q1 P2 Q2 P3 Q3 GND / VCC PEQQ* Q7 P7 Q6 P6 Q5 P5 Q4 P4",
    "519": "G_n P0 Q0 P1 Q1 P2 Q2 P3 Q3 GND / VCC PEQQ* Q7 P7 Q6 P6 Q5 P5 Q4 P4",
    "522": "G_n P0 Q0 P1 Q1 P2 Q2 P3 Q3 GND / VCC PEQQ_n* Q7 P7 Q6 P6 Q5 P5 Q4 P4",
    "533": "OE_n Q0_n* D0 D1 Q1_n* Q2_n* D2 D3 Q3_n* GND"
    " / VCC Q7_n* D7 D6 Q6_n* Q5_n* D5 D4 Q4_n* LE",
    "534": "OE_n Q0_n* D0 D1 Q1_n* Q2_n* D2 D3 Q3_n* GND"
    " / VCC Q7_n* D7 D6 Q6_n* Q5_n* D5 D4 Q4_n* CLK",
    "543": "LEBA_n OEBA_n A0* A1* A2* A3* A4* A5* A6* A7* CEAB_n GND"
    " / VCC CEBA_n B0* B1* B2* B3* B4* B5* B6* B7* LEAB_n OEAB_n",
    "544": "LEBA_n OEBA_n A0* A1* A2* A3* A4* A5* A6* A7* CEAB_n GND"
    " / VCC CEBA_n B0* B1* B2* B3* B4* B5* B6* B7* LEAB_n OEAB_n",
    "568": "U_D_n CLK D0 D1 D2 D3 ENP_n ACLR_n SCLR_n GND"
    " / VCC RCO_n* CCO_n* OE_n Q0* Q1* Q2* Q3* ENT_n LD_n",
    "569": "U_D_n CLK D0 D1 D2 D3 ENP_n ACLR_n SCLR_n GND"
    " / VCC RCO_n* CCO_n* OE_n Q0* Q1* Q2* Q3* ENT_n LD_n",
    "575": "CLR_n OE_n D0 D1 D2 D3 D4 D5 D6 D7 NC GND"
    " / VCC NC Q0* Q1* Q2* Q3* Q4* Q5* Q6* Q7* CLK NC",
    "576": "OE_n D0 D1 D2 D3 D4 D5 D6 D7 GND"
    " / VCC Q0_n* Q1_n* Q2_n* Q3_n* Q4_n* Q5_n* Q6_n* Q7_n* CLK",
    "580": "OE_n D0 D1 D2 D3 D4 D5 D6 D7 GND"
    " / VCC Q0_n* Q1_n* Q2_n* Q3_n* Q4_n* Q5_n* Q6_n* Q7_n* LE",
    "596": "Q1* Q2* Q3* Q4* Q5* Q6* Q7* GND / VCC Q0* SER OE_n RCLK SRCLK SRCLR_n Q7S*",
    "599": "Q1* Q2* Q3* Q4* Q5* Q6* Q7* GND / VCC Q0* SER RCLR_n RCLK SRCLK SRCLR_n Q7S*",
    "620": "GAB A1* A2* A3* A4* A5* A6* A7* A8* GND / VCC GBA_n B1* B2* B3* B4* B5* B6* B7* B8*",
    "621": "GAB A1* A2* A3* A4* A5* A6* A7* A8* GND / VCC GBA_n B1* B2* B3* B4* B5* B6* B7* B8*",
    "622": "GAB A1* A2* A3* A4* A5* A6* A7* A8* GND / VCC GBA_n B1* B2* B3* B4* B5* B6* B7* B8*",
    "638": "DIR A1* A2* A3* A4* A5* A6* A7* A8* GND / VCC G_n B1* B2* B3* B4* B5* B6* B7* B8*",
    "639": "DIR A1* A2* A3* A4* A5* A6* A7* A8* GND / VCC G_n B1* B2* B3* B4* B5* B6* B7* B8*",
    "641": "DIR A1* A2* A3* A4* A5* A6* A7* A8* GND / VCC G_n B1* B2* B3* B4* B5* B6* B7* B8*",
    "642": "DIR A1* A2* A3* A4* A5* A6* A7* A8* GND / VCC G_n B1* B2* B3* B4* B5* B6* B7* B8*",
    "643": "DIR A1* A2* A3* A4* A5* A6* A7* A8* GND / VCC G_n B1* B2* B3* B4* B5* B6* B7* B8*",
    "645": "DIR A1* A2* A3* A4* A5* A6* A7* A8* GND / VCC G_n B1* B2* B3* B4* B5* B6* B7* B8*",
    "648": "CLKAB SAB DIR A1* A2* A3* A4* A5* A6* A7* A8* GND"
    " / VCC CLKBA SBA G_n B1* B2* B3* B4* B5* B6* B7* B8*",
    "651": "CLKAB SAB GAB A1* A2* A3* A4* A5* A6* A7* A8* GND"
    " / VCC CLKBA SBA GBA_n B1* B2* B3* B4* B5* B6* B7* B8*",
    "653": "CLKAB SAB GAB A1* A2* A3* A4* A5* A6* A7* A8* GND"
    " / VCC CLKBA SBA GBA_n B1* B2* B3* B4* B5* B6* B7* B8*",
    "654": "CLKAB SAB GAB A1* A2* A3* A4* A5* A6* A7* A8* GND"
    " / VCC CLKBA SBA GBA_n B1* B2* B3* B4* B5* B6* B7* B8*",
    "668": "U_D_n CLK D0 D1 D2 D3 ENP_n GND / VCC RCO_n* Q0* Q1* Q2* Q3* ENT_n LD_n",
    "669": "U_D_n CLK D0 D1 D2 D3 ENP_n GND / VCC RCO_n* Q0* Q1* Q2* Q3* ENT_n LD_n",
    "683": "PGTQ_n* P0 Q0 P1 Q1 P2 Q2 P3 Q3 GND / VCC PEQQ_n* Q7 P7 Q6 P6 Q5 P5 Q4 P4",
    "684": "PGTQ_n* P0 Q0 P1 Q1 P2 Q2 P3 Q3 GND / VCC PEQQ_n* Q7 P7 Q6 P6 Q5 P5 Q4 P4",
    "685": "PGTQ_n* P0 Q0 P1 Q1 P2 Q2 P3 Q3 GND / VCC PEQQ_n* Q7 P7 Q6 P6 Q5 P5 Q4 P4",
    "686": "PGTQ_n* G1_n P0 Q0 P1 Q1 NC P2 Q2 P3 Q3 GND"
    " / VCC G2_n PEQQ_n* Q7 P7 NC Q6 P6 Q5 P5 Q4 P4",
    "687": "PGTQ_n* G1_n P0 Q0 P1 Q1 NC P2 Q2 P3 Q3 GND"
    " / VCC G2_n PEQQ_n* Q7 P7 NC Q6 P6 Q5 P5 Q4 P4",
    "689": "G_n P0 Q0 P1 Q1 P2 Q2 P3 Q3 GND / VCC PEQQ_n* Q7 P7 Q6 P6 Q5 P5 Q4 P4",
    "756": "G1_n A11 Y24* A12 Y23* A13 Y22* A14 Y21* GND"
    " / VCC G2_n Y11* A24 Y12* A23 Y13* A22 Y14* A21",
    "757": "G1_n A11 Y24* A12 Y23* A13 Y22* A14 Y21* GND"
    " / VCC G2 Y11* A24 Y12* A23 Y13* A22 Y14* A21",
    "760": "G1_n A11 Y24* A12 Y23* A13 Y22* A14 Y21* GND"
    " / VCC G2_n Y11* A24 Y12* A23 Y13* A22 Y14* A21",
    "804": "A1 B1 Y1* A2 B2 Y2* A3 B3 Y3* GND / VCC B6 A6 Y6* B5 A5 Y5* B4 A4 Y4*",
    "805": "A1 B1 Y1* A2 B2 Y2* A3 B3 Y3* GND / VCC B6 A6 Y6* B5 A5 Y5* B4 A4 Y4*",
    "808": "A1 B1 Y1* A2 B2 Y2* A3 B3 Y3* GND / VCC B6 A6 Y6* B5 A5 Y5* B4 A4 Y4*",
    "822": "OE_n D0_n D1_n D2_n D3_n D4_n D5_n D6_n D7_n D8_n D9_n GND"
    " / VCC Q0* Q1* Q2* Q3* Q4* Q5* Q6* Q7* Q8* Q9* CLK",
    "824": "OE_n D0_n D1_n D2_n D3_n D4_n D5_n D6_n D7_n D8_n CLR_n GND"
    " / VCC Q0* Q1* Q2* Q3* Q4* Q5* Q6* Q7* Q8* CLKEN_n CLK",
    "826": "OE1_n OE2_n D0_n D1_n D2_n D3_n D4_n D5_n D6_n D7_n CLR_n GND"
    " / VCC OE3_n Q0* Q1* Q2* Q3* Q4* Q5* Q6* Q7* CLKEN_n CLK",
    "828": "G1_n A1 A2 A3 A4 A5 A6 A7 A8 A9 A10 GND"
    " / VCC Y1* Y2* Y3* Y4* Y5* Y6* Y7* Y8* Y9* Y10* G2_n",
    "832": "A1 B1 Y1* A2 B2 Y2* A3 B3 Y3* GND / VCC B6 A6 Y6* B5 A5 Y5* B4 A4 Y4*",
    "842": "OE_n D0_n D1_n D2_n D3_n D4_n D5_n D6_n D7_n D8_n D9_n GND"
    " / VCC Q0* Q1* Q2* Q3* Q4* Q5* Q6* Q7* Q8* Q9* LE",
    "843": "OE_n D0 D1 D2 D3 D4 D5 D6 D7 D8 CLR_n GND"
    " / VCC Q0* Q1* Q2* Q3* Q4* Q5* Q6* Q7* Q8* PRE_n LE",
    "844": "OE_n D0_n D1_n D2_n D3_n D4_n D5_n D6_n D7_n D8_n CLR_n GND"
    " / VCC Q0* Q1* Q2* Q3* Q4* Q5* Q6* Q7* Q8* PRE_n LE",
    "845": "OE1_n OE2_n D0 D1 D2 D3 D4 D5 D6 D7 CLR_n GND"
    " / VCC OE3_n Q0* Q1* Q2* Q3* Q4* Q5* Q6* Q7* PRE_n LE",
    "846": "OE1_n OE2_n D0_n D1_n D2_n D3_n D4_n D5_n D6_n D7_n CLR_n GND"
    " / VCC OE3_n Q0* Q1* Q2* Q3* Q4* Q5* Q6* Q7* PRE_n LE",
    "873": "CLR1_n OE1_n D11 D12 D13 D14 D21 D22 D23 D24 OE2_n GND"
    " / VCC LE1 Q11* Q12* Q13* Q14* Q21* Q22* Q23* Q24* LE2 CLR2_n",
    "874": "CLR1_n OE1_n D11 D12 D13 D14 D21 D22 D23 D24 OE2_n GND"
    " / VCC CLK1 Q11* Q12* Q13* Q14* Q21* Q22* Q23* Q24* CLK2 CLR2_n",
    "876": "PRE1_n OE1_n D11 D12 D13 D14 D21 D22 D23 D24 OE2_n GND"
    " / VCC CLK1 Q11_n* Q12_n* Q13_n* Q14_n* Q21_n* Q22_n* Q23_n* Q24_n* CLK2 PRE2_n",
    "880": "PRE1_n OE1_n D11 D12 D13 D14 D21 D22 D23 D24 OE2_n GND"
    " / VCC LE1 Q11_n* Q12_n* Q13_n* Q14_n* Q21_n* Q22_n* Q23_n* Q24_n* LE2 PRE2_n",
    "1000": "A1 B1 Y1* A2 B2 Y2* GND / VCC B4 A4 Y4* B3 A3 Y3*",
    "1004": "A1 Y1* A2 Y2* A3 Y3* GND / VCC A6 Y6* A5 Y5* A4 Y4*",
    "1005": "A1 Y1* A2 Y2* A3 Y3* GND / VCC A6 Y6* A5 Y5* A4 Y4*",
    "1008": "A1 B1 Y1* A2 B2 Y2* GND / VCC B4 A4 Y4* B3 A3 Y3*",
    "1032": "A1 B1 Y1* A2 B2 Y2* GND / VCC B4 A4 Y4* B3 A3 Y3*",
    "1034": "A1 Y1* A2 Y2* A3 Y3* GND / VCC A6 Y6* A5 Y5* A4 Y4*",
    "1035": "A1 Y1* A2 Y2* A3 Y3* GND / VCC A6 Y6* A5 Y5* A4 Y4*",
    "7266": "A1 B1 Y1* Y2* A2 B2 GND / VCC B4 A4 Y4* Y3* B3 A3",
}
"""The left side from the notch down, and the right side from the notch down; * drives."""
OPEN_COLLECTOR = {
    *(
        "01",
        "12",
        "15",
        "16",
        "17",
        "22",
        "33",
        "45",
        "136",
        "145",
        "156",
        "159",
        "518",
        "519",
    ),
    *(
        "522",
        "596",
        "599",
        "683",
        "685",
        "687",
        "689",
        "756",
        "757",
        "760",
        "1005",
        "1035",
    ),
}
THREE_STATE = {
    *(
        "295",
        "348",
        "353",
        "354",
        "356",
        "363",
        "364",
        "395",
        "465",
        "466",
        "467",
        "468",
        "533",
        "534",
    ),
    *(
        "568",
        "569",
        "575",
        "576",
        "580",
        "822",
        "824",
        "826",
        "828",
        "842",
        "843",
        "844",
    ),
    *("845", "846", "873", "874", "876", "880"),
}
ALWAYS_DRIVE = {"348": {"EO_n", "GS_n"}, "395": {"Q3S"}, "568": {"CCO_n", "RCO_n"}}
ALWAYS_DRIVE |= {"569": ALWAYS_DRIVE["568"], "596": {"Q7S"}, "599": {"Q7S"}}
TRANSCEIVERS = {"242", "543", "544", "620", "643", "645", "648", "651"}
OPEN_TRANSCEIVERS = {"621", "622", "638", "639", "641", "642", "653", "654"}
"""Their A side only pulls low, and their B side too, but for those of `THREE_STATE_B`."""
THREE_STATE_B = {"638", "639", "653", "654"}
STRENGTHS = {
    "buffer": OPEN_TRANSCEIVERS
    | {
        *("33", "128", "140", "756", "757", "760"),
        *("1000", "1004", "1005", "1008", "1032", "1034", "1035"),
    },
    "pull-down-15": {"145"},
    "driver-15": {"16", "17"},
    "bus-driver": TRANSCEIVERS | THREE_STATE_B | {"804", "805", "808", "828", "832"},
    "bus-output": THREE_STATE - {"295", "348", "353", "354", "356", "395", "568", "569", "828"},
}
"""From memory of the data books."""
SCHMITT = {"18", "19", "24"}
PULLED_UP = {"518", "522", "683"}
ALIKE = [
    ("10", "12"),
    ("11", "15"),
    ("04", "16", "17", "19", "1004", "1005", "1034", "1035"),
    ("20", "18", "22", "140"),
    ("00", "24", "136", "1000", "1008", "1032"),
    ("02", "01", "33", "128"),
    ("42", "45", "145"),
    ("155", "156"),
    ("154", "159"),
    ("169", "168", "668", "669"),
    ("196", "176", "177", "197"),
    ("243", "242"),
    ("148", "348"),
    ("153", "352", "353"),
    ("373", "363"),
    ("374", "364"),
    ("386", "7266"),
    ("564", "576"),
    ("563", "580"),
    ("521", "522", "689"),
    ("518", "519"),
    ("568", "569"),
    ("623", "620", "621", "622"),
    ("245", "638", "639", "641", "642", "643", "645"),
    ("646", "648"),
    ("652", "651", "653", "654"),
    ("682", "683", "684", "685"),
    ("595", "596"),
    ("594", "599"),
    ("686", "687"),
    ("240", "756"),
    ("241", "757"),
    ("244", "760"),
    ("804", "805", "808", "832"),
    ("827", "828"),
]
"""Numbers that can take each other's place on a board: the same names at the same pins."""

every = pytest.mark.parametrize("number", PINS)


def _drawn(number: str) -> list[str]:
    """Names by pin number, with their marks."""
    left, right = (side.split() for side in PINS[number].split(" / "))
    assert len(left) == len(right)
    return [*left, *reversed(right)]


@every
def test_pins_go_around_the_package(number: str) -> None:
    part, drawn = CATALOGUE.part(number), _drawn(number)
    assert part.package == f"DIP-{len(drawn)}"
    assert [pin.number for pin in part.pins] == [str(at + 1) for at in range(len(drawn))]
    names = ["NC" if pin.kind is PinKind.NOT_CONNECTED else pin.name for pin in part.pins]
    assert names == [name.removesuffix("*") for name in drawn]
    supplies = {pin.name for pin in part.pins if pin.kind is PinKind.SUPPLY}
    grounds = {pin.name for pin in part.pins if pin.kind is PinKind.GROUND}
    assert (supplies, grounds) == ({"VCC"}, {"GND"})


@every
def test_what_drives_and_how(number: str) -> None:
    part = CATALOGUE.part(number)
    drives = [pin for pin in part.pins if pin.kind.drives]
    assert {pin.name for pin in drives} == {n[:-1] for n in _drawn(number) if n.endswith("*")}
    usual = PinKind.OUT
    if number in OPEN_COLLECTOR:
        usual = PinKind.OPEN_COLLECTOR
    elif number in THREE_STATE:
        usual = PinKind.THREE_STATE
    elif number in TRANSCEIVERS:
        usual = PinKind.BIDIRECTIONAL
    always = ALWAYS_DRIVE.get(number, set())
    if number in OPEN_TRANSCEIVERS:
        for pin in drives:
            both = pin.name[0] == "B" and number in THREE_STATE_B
            assert pin.kind is (PinKind.BIDIRECTIONAL if both else PinKind.WIRED_AND), pin.name
        return
    for pin in drives:
        assert pin.kind is (PinKind.OUT if pin.name in always else usual), pin.name


@every
def test_how_strong(number: str) -> None:
    found = {kind for _, kind in CATALOGUE.part(number).output_classes}
    assert found == {kind for kind, numbers in STRENGTHS.items() if number in numbers}


@every
def test_inputs_of_a_special_kind(number: str) -> None:
    part = CATALOGUE.part(number)
    inputs = {pin.name for pin in part.pins if pin.kind.reads}
    assert {pin.name for pin in part.pins if pin.schmitt} == (
        inputs if number in SCHMITT else set()
    )
    assert {pin.name for pin in part.pins if pin.pulled_up} == (
        {f"Q{bit}" for bit in range(8)} if number in PULLED_UP else set()
    )


@pytest.mark.parametrize("numbers", ALIKE, ids=" ".join)
def test_kin_have_the_same_pin_out(numbers: tuple[str, ...]) -> None:
    first, *others = ([(p.number, p.name) for p in CATALOGUE.part(n).pins] for n in numbers)
    assert all(other == first for other in others)
