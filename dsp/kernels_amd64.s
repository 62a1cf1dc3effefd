#include "textflag.h"

// func weighAVX2(dst, energies *float32, weight *[Lanes]float32, n int)
//
// Eight cells at a time, cell i in the lower and i+4 in the upper halves, so
// that two rounds of sums of neighbours leave them in order.
TEXT ·weighAVX2(SB), NOSPLIT, $0-32
	MOVQ           dst+0(FP), DI
	MOVQ           energies+8(FP), SI
	MOVQ           weight+16(FP), BX
	MOVQ           n+24(FP), CX
	VBROADCASTF128 (BX), Y7

weigh:
	VMOVUPS     (SI), X0
	VINSERTF128 $1, 64(SI), Y0, Y0
	VMOVUPS     16(SI), X1
	VINSERTF128 $1, 80(SI), Y1, Y1
	VMOVUPS     32(SI), X2
	VINSERTF128 $1, 96(SI), Y2, Y2
	VMOVUPS     48(SI), X3
	VINSERTF128 $1, 112(SI), Y3, Y3
	VMULPS      Y7, Y0, Y0
	VMULPS      Y7, Y1, Y1
	VMULPS      Y7, Y2, Y2
	VMULPS      Y7, Y3, Y3
	VHADDPS     Y1, Y0, Y0
	VHADDPS     Y3, Y2, Y2
	VHADDPS     Y2, Y0, Y0
	VMOVUPS     Y0, (DI)
	ADDQ        $128, SI
	ADDQ        $32, DI
	SUBQ        $8, CX
	JNZ         weigh
	VZEROUPPER
	RET

DATA consts<>+0(SB)/4, $20.0
DATA consts<>+4(SB)/4, $15.0
DATA consts<>+8(SB)/4, $6.0
DATA consts<>+12(SB)/4, $0.015625
DATA consts<>+16(SB)/4, $0.05
DATA consts<>+20(SB)/4, $0x3f3504f3
DATA consts<>+24(SB)/4, $1.0
DATA consts<>+28(SB)/4, $0.14285714285714285
DATA consts<>+32(SB)/4, $0.2
DATA consts<>+36(SB)/4, $0.3333333333333333
DATA consts<>+40(SB)/4, $0.6931471805599453
GLOBL consts<>(SB), RODATA|NOPTR, $44

// func logSmoothAVX2(dst, sums *float32, n int)
TEXT ·logSmoothAVX2(SB), NOSPLIT, $0-24
	MOVQ         dst+0(FP), DI
	MOVQ         sums+8(FP), SI
	MOVQ         n+16(FP), CX
	VBROADCASTSS consts<>+0(SB), Y5
	VBROADCASTSS consts<>+4(SB), Y6
	VBROADCASTSS consts<>+8(SB), Y7
	VBROADCASTSS consts<>+12(SB), Y8
	VBROADCASTSS consts<>+16(SB), Y9
	VBROADCASTSS consts<>+20(SB), Y10
	VBROADCASTSS consts<>+24(SB), Y11
	VBROADCASTSS consts<>+28(SB), Y12
	VBROADCASTSS consts<>+32(SB), Y13
	VBROADCASTSS consts<>+36(SB), Y14
	VBROADCASTSS consts<>+40(SB), Y15

smooth:
	VMULPS  12(SI), Y5, Y0
	VMOVUPS 8(SI), Y1
	VADDPS  16(SI), Y1, Y1
	VMULPS  Y6, Y1, Y1
	VADDPS  Y1, Y0, Y0
	VMOVUPS 4(SI), Y1
	VADDPS  20(SI), Y1, Y1
	VMULPS  Y7, Y1, Y1
	VADDPS  Y1, Y0, Y0
	VMOVUPS (SI), Y1
	VADDPS  24(SI), Y1, Y1
	VADDPS  Y1, Y0, Y0
	VMULPS  Y8, Y0, Y0
	VMAXPS  Y9, Y0, Y0

	// e in Y1, m in Y0
	VPSUBD Y10, Y0, Y1
	VPSRAD $23, Y1, Y1
	VPSLLD $23, Y1, Y2
	VPSUBD Y2, Y0, Y0
	VCVTDQ2PS Y1, Y1
	VMULPS Y15, Y1, Y1

	// s in Y0, s² in Y3
	VADDPS Y11, Y0, Y2
	VSUBPS Y11, Y0, Y0
	VDIVPS Y2, Y0, Y0
	VMULPS Y0, Y0, Y3
	VMULPS Y12, Y3, Y4
	VADDPS Y13, Y4, Y4
	VMULPS Y3, Y4, Y4
	VADDPS Y14, Y4, Y4
	VMULPS Y3, Y4, Y4
	VADDPS Y0, Y0, Y0
	VMULPS Y0, Y4, Y4
	VADDPS Y4, Y0, Y0
	VADDPS Y1, Y0, Y0
	VMOVUPS Y0, (DI)
	ADDQ   $32, SI
	ADDQ   $32, DI
	SUBQ   $8, CX
	JNZ    smooth
	VZEROUPPER
	RET

// func correlateAVX2(c, m, y *float32, n int)
//
// Thirty-two lags side by side.
TEXT ·correlateAVX2(SB), NOSPLIT, $0-32
	MOVQ   c+0(FP), DI
	MOVQ   m+8(FP), SI
	MOVQ   y+16(FP), BX
	MOVQ   n+24(FP), CX
	VXORPS Y0, Y0, Y0
	VXORPS Y1, Y1, Y1
	VXORPS Y2, Y2, Y2
	VXORPS Y3, Y3, Y3

lag:
	VBROADCASTSS (SI), Y8
	VMULPS       (BX), Y8, Y4
	VMULPS       32(BX), Y8, Y5
	VMULPS       64(BX), Y8, Y6
	VMULPS       96(BX), Y8, Y7
	VADDPS       Y4, Y0, Y0
	VADDPS       Y5, Y1, Y1
	VADDPS       Y6, Y2, Y2
	VADDPS       Y7, Y3, Y3
	ADDQ         $4, SI
	ADDQ         $4, BX
	DECQ         CX
	JNZ          lag
	VMOVUPS      Y0, (DI)
	VMOVUPS      Y1, 32(DI)
	VMOVUPS      Y2, 64(DI)
	VMOVUPS      Y3, 96(DI)
	VZEROUPPER
	RET

// func addWeightedAVX2(sum, y *float32, w *[4]float32, n int)
TEXT ·addWeightedAVX2(SB), NOSPLIT, $0-32
	MOVQ         sum+0(FP), DI
	MOVQ         y+8(FP), SI
	MOVQ         w+16(FP), BX
	MOVQ         n+24(FP), CX
	VBROADCASTSS (BX), Y4
	VBROADCASTSS 4(BX), Y5
	VBROADCASTSS 8(BX), Y6
	VBROADCASTSS 12(BX), Y7

between:
	VMULPS  (SI), Y4, Y0
	VMULPS  4(SI), Y5, Y1
	VMULPS  8(SI), Y6, Y2
	VMULPS  12(SI), Y7, Y3
	VADDPS  Y1, Y0, Y0
	VADDPS  Y3, Y2, Y2
	VADDPS  Y2, Y0, Y0
	VADDPS  (DI), Y0, Y0
	VMOVUPS Y0, (DI)
	ADDQ    $32, SI
	ADDQ    $32, DI
	SUBQ    $8, CX
	JNZ     between
	VZEROUPPER
	RET

// func addAVX2(sum, y *float32, n int)
TEXT ·addAVX2(SB), NOSPLIT, $0-24
	MOVQ sum+0(FP), DI
	MOVQ y+8(FP), SI
	MOVQ n+16(FP), CX

add:
	VMOVUPS (SI), Y0
	VADDPS  (DI), Y0, Y0
	VMOVUPS Y0, (DI)
	ADDQ    $32, SI
	ADDQ    $32, DI
	SUBQ    $8, CX
	JNZ     add
	VZEROUPPER
	RET

// func addShiftedAVX2(sum, y *float32, f, w float32, n int)
TEXT ·addShiftedAVX2(SB), NOSPLIT, $0-32
	MOVQ         sum+0(FP), DI
	MOVQ         y+8(FP), SI
	VBROADCASTSS f+16(FP), Y6
	VBROADCASTSS w+20(FP), Y7
	MOVQ         n+24(FP), CX

shifted:
	VMOVUPS (SI), Y0
	VMOVUPS 4(SI), Y1
	VSUBPS  Y0, Y1, Y1
	VMULPS  Y6, Y1, Y1
	VADDPS  Y1, Y0, Y0
	VMULPS  Y7, Y0, Y0
	VADDPS  (DI), Y0, Y0
	VMOVUPS Y0, (DI)
	ADDQ    $32, SI
	ADDQ    $32, DI
	SUBQ    $8, CX
	JNZ     shifted
	VZEROUPPER
	RET

// func leaveOutAVX2(v, mean *float32, floor, n float32, count int)
TEXT ·leaveOutAVX2(SB), NOSPLIT, $0-32
	MOVQ         v+0(FP), DI
	MOVQ         mean+8(FP), SI
	VBROADCASTSS floor+16(FP), Y5
	VBROADCASTSS n+20(FP), Y6
	MOVQ         count+24(FP), CX
	VBROADCASTSS consts<>+24(SB), Y7
	VSUBPS       Y7, Y6, Y7

others:
	VMOVUPS (DI), Y0
	VSUBPS  Y5, Y0, Y0
	VMULPS  (SI), Y6, Y1
	VSUBPS  Y0, Y1, Y1
	VDIVPS  Y7, Y1, Y1
	VMOVUPS Y1, (DI)
	ADDQ    $32, SI
	ADDQ    $32, DI
	SUBQ    $8, CX
	JNZ     others
	VZEROUPPER
	RET

// func addTrimmedAVX2(sum, top, e *float32, f float32, n int)
TEXT ·addTrimmedAVX2(SB), NOSPLIT, $0-40
	MOVQ         sum+0(FP), DI
	MOVQ         top+8(FP), DX
	MOVQ         e+16(FP), SI
	VBROADCASTSS f+24(FP), Y7
	MOVQ         n+32(FP), CX

trimmed:
	VMOVUPS (SI), Y0
	VMOVUPS 16(SI), Y1
	VSUBPS  Y0, Y1, Y1
	VMULPS  Y7, Y1, Y1
	VADDPS  Y1, Y0, Y0
	VMOVUPS (DX), Y2
	VMINPS  Y2, Y0, Y3
	VMAXPS  Y0, Y2, Y2
	VADDPS  (DI), Y3, Y3
	VMOVUPS Y3, (DI)
	VMOVUPS Y2, (DX)
	ADDQ    $32, SI
	ADDQ    $32, DX
	ADDQ    $32, DI
	SUBQ    $8, CX
	JNZ     trimmed
	VZEROUPPER
	RET
