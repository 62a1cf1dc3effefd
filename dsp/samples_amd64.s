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
// The sums stand at 0 and the greatest sizes at 32 of levels.
TEXT ·levelAVX2(SB), NOSPLIT, $0-24
	MOVQ     l+0(FP), DI
	MOVQ     x+8(FP), SI
	MOVQ     n+16(FP), CX
	VMOVUPS  (DI), Y0
	VMOVDQU  32(DI), Y1
	VPCMPEQD Y7, Y7, Y7
	VPSRLD   $1, Y7, Y7

eight:
	VMOVUPS (SI), Y2
	VMULPS  Y2, Y2, Y3
	VADDPS  Y3, Y0, Y0
	VPAND   Y7, Y2, Y2
	VPMAXUD Y2, Y1, Y1
	ADDQ    $32, SI
	SUBQ    $8, CX
	JNZ     eight
	VMOVUPS Y0, (DI)
	VMOVDQU Y1, 32(DI)
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
