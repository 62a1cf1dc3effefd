#include "textflag.h"

DATA step16<>+0(SB)/4, $0.000030517578125
GLOBL step16<>(SB), RODATA|NOPTR, $4

// func fromS16AVX2(dst *float32, src *byte, n int)
TEXT ·fromS16AVX2(SB), NOSPLIT, $0-24
	MOVQ         dst+0(FP), DI
	MOVQ         src+8(FP), SI
	MOVQ         n+16(FP), CX
	VBROADCASTSS step16<>+0(SB), Y7

sixteen:
	VPMOVSXWD (SI), Y0
	VPMOVSXWD 16(SI), Y1
	VCVTDQ2PS Y0, Y0
	VCVTDQ2PS Y1, Y1
	VMULPS    Y7, Y0, Y0
	VMULPS    Y7, Y1, Y1
	VMOVUPS   Y0, (DI)
	VMOVUPS   Y1, 32(DI)
	ADDQ      $32, SI
	ADDQ      $64, DI
	SUBQ      $16, CX
	JNZ       sixteen
	VZEROUPPER
	RET

// func nonzeroAVX2(x *float32, n int) int
//
// How many there are before the first 32 that hold a zero.
TEXT ·nonzeroAVX2(SB), NOSPLIT, $0-24
	MOVQ   x+0(FP), SI
	MOVQ   n+8(FP), CX
	XORQ   AX, AX
	VXORPS Y7, Y7, Y7

look:
	VCMPPS    $0, (SI)(AX*4), Y7, Y0
	VCMPPS    $0, 32(SI)(AX*4), Y7, Y1
	VCMPPS    $0, 64(SI)(AX*4), Y7, Y2
	VCMPPS    $0, 96(SI)(AX*4), Y7, Y3
	VORPS     Y1, Y0, Y0
	VORPS     Y3, Y2, Y2
	VORPS     Y2, Y0, Y0
	VMOVMSKPS Y0, DX
	TESTL     DX, DX
	JNZ       found
	ADDQ      $32, AX
	CMPQ      AX, CX
	JLT       look

found:
	VZEROUPPER
	MOVQ AX, ret+16(FP)
	RET

// func levelAVX2(l *levels, x *float32, n int)
//
// The sums stand at 0 and the greatest sizes at 128 of levels, all zeros.
TEXT ·levelAVX2(SB), NOSPLIT, $0-24
	MOVQ     l+0(FP), DI
	MOVQ     x+8(FP), SI
	MOVQ     n+16(FP), CX
	VXORPS   Y0, Y0, Y0
	VXORPS   Y1, Y1, Y1
	VXORPS   Y2, Y2, Y2
	VXORPS   Y3, Y3, Y3
	VPXOR    Y4, Y4, Y4
	VPXOR    Y5, Y5, Y5
	VPCMPEQD Y15, Y15, Y15
	VPSRLD   $1, Y15, Y15

level:
	VMOVUPS (SI), Y6
	VMOVUPS 32(SI), Y7
	VMOVUPS 64(SI), Y8
	VMOVUPS 96(SI), Y9
	VMULPS  Y6, Y6, Y10
	VMULPS  Y7, Y7, Y11
	VMULPS  Y8, Y8, Y12
	VMULPS  Y9, Y9, Y13
	VADDPS  Y10, Y0, Y0
	VADDPS  Y11, Y1, Y1
	VADDPS  Y12, Y2, Y2
	VADDPS  Y13, Y3, Y3
	VPAND   Y15, Y6, Y6
	VPAND   Y15, Y7, Y7
	VPAND   Y15, Y8, Y8
	VPAND   Y15, Y9, Y9
	VPMAXUD Y6, Y4, Y4
	VPMAXUD Y7, Y5, Y5
	VPMAXUD Y8, Y4, Y4
	VPMAXUD Y9, Y5, Y5
	ADDQ    $128, SI
	SUBQ    $32, CX
	JNZ     level
	VPMAXUD Y5, Y4, Y4
	VMOVUPS Y0, (DI)
	VMOVUPS Y1, 32(DI)
	VMOVUPS Y2, 64(DI)
	VMOVUPS Y3, 96(DI)
	VMOVDQU Y4, 128(DI)
	VZEROUPPER
	RET

// func sumsAVX2(s *[2][8]float32, x *float32, n int)
TEXT ·sumsAVX2(SB), NOSPLIT, $0-24
	MOVQ   s+0(FP), DI
	MOVQ   x+8(FP), SI
	MOVQ   n+16(FP), CX
	VXORPS Y0, Y0, Y0
	VXORPS Y1, Y1, Y1

sums:
	VMOVUPS (SI), Y2
	VADDPS  Y2, Y0, Y0
	VMULPS  Y2, Y2, Y2
	VADDPS  Y2, Y1, Y1
	ADDQ    $32, SI
	SUBQ    $8, CX
	JNZ     sums
	VMOVUPS Y0, (DI)
	VMOVUPS Y1, 32(DI)
	VZEROUPPER
	RET
