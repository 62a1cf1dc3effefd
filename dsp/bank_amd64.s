#include "textflag.h"

// func interleaveAVX2(d *float32, x *[rowsAtOnce]*float32, n int)
//
// Four samples of eight stretches at a time, stretch i in the lower and i+4 in
// the upper halves.
TEXT ·interleaveAVX2(SB), NOSPLIT, $0-24
	MOVQ d+0(FP), DI
	MOVQ x+8(FP), AX
	MOVQ n+16(FP), CX
	MOVQ (AX), R8
	MOVQ 8(AX), R9
	MOVQ 16(AX), R10
	MOVQ 24(AX), R11
	MOVQ 32(AX), R12
	MOVQ 40(AX), R13
	MOVQ 48(AX), BX
	MOVQ 56(AX), DX
	XORQ AX, AX

four:
	VMOVUPS     (R8)(AX*4), X0
	VINSERTF128 $1, (R12)(AX*4), Y0, Y0
	VMOVUPS     (R9)(AX*4), X1
	VINSERTF128 $1, (R13)(AX*4), Y1, Y1
	VMOVUPS     (R10)(AX*4), X2
	VINSERTF128 $1, (BX)(AX*4), Y2, Y2
	VMOVUPS     (R11)(AX*4), X3
	VINSERTF128 $1, (DX)(AX*4), Y3, Y3
	VUNPCKLPS   Y1, Y0, Y4
	VUNPCKHPS   Y1, Y0, Y5
	VUNPCKLPS   Y3, Y2, Y6
	VUNPCKHPS   Y3, Y2, Y7
	VUNPCKLPD   Y6, Y4, Y0
	VUNPCKHPD   Y6, Y4, Y1
	VUNPCKLPD   Y7, Y5, Y2
	VUNPCKHPD   Y7, Y5, Y3
	VMOVUPS     Y0, (DI)
	VMOVUPS     Y1, 32(DI)
	VMOVUPS     Y2, 64(DI)
	VMOVUPS     Y3, 96(DI)
	ADDQ        $128, DI
	ADDQ        $4, AX
	CMPQ        AX, CX
	JLT         four
	VZEROUPPER
	RET

DATA most<>+0(SB)/4, $16.0
DATA most<>+4(SB)/4, $-16.0
GLOBL most<>(SB), RODATA|NOPTR, $8

// A high-pass on the values in Y14, which it replaces by its outputs. P holds
// the last inputs (the outputs of the section before), D their last
// difference, B and A the outputs one and two steps back; B is brought up to
// date by what follows, as its P.
#define SECTION(P, D, B, A, a1, a2) \
	VSUBPS   P, Y14, Y15    \
	VMOVAPS  Y14, P         \
	VSUBPS   D, Y15, Y14    \
	VMOVAPS  Y15, D         \
	VMULPS   a2, A, Y15     \
	VSUBPS   Y15, Y14, Y14  \
	VMULPS   a1, B, Y15     \
	VMOVAPS  B, A           \
	VSUBPS   Y15, Y14, Y14

// func sharedAVX2(c *bankCoef, d *float32, n int)
//
// The sections that the bands share, and the differences of the third, in
// place. a1 stands at 0 and a2 at 128 in bankCoef, 32 bytes a section.
TEXT ·sharedAVX2(SB), NOSPLIT, $0-24
	MOVQ         c+0(FP), BX
	MOVQ         d+8(FP), DI
	MOVQ         n+16(FP), CX
	VBROADCASTSS (BX), Y8
	VBROADCASTSS 128(BX), Y9
	VBROADCASTSS 32(BX), Y10
	VBROADCASTSS 160(BX), Y11
	VBROADCASTSS most<>+0(SB), Y12
	VBROADCASTSS most<>+4(SB), Y13
	VXORPS       Y0, Y0, Y0
	VXORPS       Y1, Y1, Y1
	VXORPS       Y2, Y2, Y2
	VXORPS       Y3, Y3, Y3
	VXORPS       Y4, Y4, Y4
	VXORPS       Y5, Y5, Y5
	VXORPS       Y6, Y6, Y6
	VXORPS       Y7, Y7, Y7

shared:
	VMOVUPS (DI), Y14
	VMINPS  Y12, Y14, Y14
	VMAXPS  Y13, Y14, Y14
	SECTION(Y0, Y1, Y2, Y3, Y8, Y9)
	SECTION(Y2, Y4, Y5, Y6, Y10, Y11)
	VSUBPS  Y5, Y14, Y15
	VMOVAPS Y14, Y5
	VSUBPS  Y7, Y15, Y14
	VMOVAPS Y15, Y7
	VMOVUPS Y14, (DI)
	ADDQ    $32, DI
	DECQ    CX
	JNZ     shared
	VZEROUPPER
	RET

// Which of two samples each value of a register is to have.
DATA pick<>+0(SB)/8, $0
DATA pick<>+8(SB)/8, $0
DATA pick<>+16(SB)/8, $0x0000000100000001
DATA pick<>+24(SB)/8, $0x0000000100000001
GLOBL pick<>(SB), RODATA|NOPTR, $32

// One sample of two stretches, at off(DI), through the high-pass and the
// low-pass that the bands have of their own. y1, y2, z1 and z2 are the outputs
// one and two steps back and s the last sum of inputs. The new y is left in
// y2, the new sum in t and the new z in z2: for the sample after, the names of
// each two are exchanged.
#define OWN(off, y1, y2, s, t, z1, z2, sum) \
	VBROADCASTSD off(DI), Y14             \
	VPERMILPS    pick<>+0(SB), Y14, Y14   \
	VMULPS       192(BX), y2, Y15         \
	VSUBPS       Y15, Y14, Y14            \
	VMULPS       64(BX), y1, Y15          \
	VSUBPS       Y15, Y14, y2             \
	VADDPS       y1, y2, t                \
	VADDPS       s, t, s                  \
	VMULPS       224(BX), z2, Y15         \
	VSUBPS       Y15, s, z2               \
	VMULPS       96(BX), z1, Y15          \
	VSUBPS       Y15, z2, z2              \
	VMULPS       z2, z2, Y15              \
	VADDPS       Y15, sum, sum

// A sample of four stretches, two of them, and one after which nothing is left
// exchanged.
#define ONE(off) \
	OWN(off, Y0, Y1, Y2, Y3, Y4, Y5, Y6)        \
	OWN(off+8, Y7, Y8, Y9, Y10, Y11, Y12, Y13)

#define TWO \
	ONE(0)                                       \
	OWN(32, Y1, Y0, Y3, Y2, Y5, Y4, Y6)          \
	OWN(40, Y8, Y7, Y10, Y9, Y12, Y11, Y13)      \
	ADDQ    $64, DI

#define SWAP(a, b) \
	VMOVAPS a, Y14  \
	VMOVAPS b, a    \
	VMOVAPS Y14, b

#define ALONE \
	ONE(0)         \
	SWAP(Y0, Y1)   \
	SWAP(Y2, Y3)   \
	SWAP(Y4, Y5)   \
	SWAP(Y7, Y8)   \
	SWAP(Y9, Y10)  \
	SWAP(Y11, Y12) \
	ADDQ $32, DI

// func ownAVX2(c *bankCoef, d *float32, warm, cells, step int, dst **float32)
//
// Four of the eight stretches that lie side by side in d.
TEXT ·ownAVX2(SB), NOSPLIT, $0-48
	MOVQ   c+0(FP), BX
	MOVQ   d+8(FP), DI
	MOVQ   warm+16(FP), AX
	MOVQ   cells+24(FP), CX
	MOVQ   step+32(FP), DX
	MOVQ   dst+40(FP), SI
	MOVQ   (SI), R8
	MOVQ   8(SI), R9
	MOVQ   16(SI), R10
	MOVQ   24(SI), R11
	MOVQ   DX, R12
	SHRQ   $1, R12
	VXORPS Y0, Y0, Y0
	VXORPS Y1, Y1, Y1
	VXORPS Y2, Y2, Y2
	VXORPS Y4, Y4, Y4
	VXORPS Y5, Y5, Y5
	VXORPS Y6, Y6, Y6
	VXORPS Y7, Y7, Y7
	VXORPS Y8, Y8, Y8
	VXORPS Y9, Y9, Y9
	VXORPS Y11, Y11, Y11
	VXORPS Y12, Y12, Y12
	VXORPS Y13, Y13, Y13
	SHRQ   $1, AX
	JZ     warmed

warm:
	TWO
	DECQ AX
	JNZ  warm

warmed:
	MOVQ  warm+16(FP), AX
	TESTQ $1, AX
	JZ    cell
	ALONE

cell:
	VXORPS Y6, Y6, Y6
	VXORPS Y13, Y13, Y13
	MOVQ   R12, AX
	TESTQ  AX, AX
	JZ     odd

samples:
	TWO
	DECQ AX
	JNZ  samples
	TESTQ $1, DX
	JZ   done

odd:
	ALONE

done:
	VMULPS       256(BX), Y6, Y6
	VMULPS       256(BX), Y13, Y13
	VMOVUPS      X6, (R8)
	VEXTRACTF128 $1, Y6, (R9)
	VMOVUPS      X13, (R10)
	VEXTRACTF128 $1, Y13, (R11)
	ADDQ         $16, R8
	ADDQ         $16, R9
	ADDQ         $16, R10
	ADDQ         $16, R11
	DECQ         CX
	JNZ          cell
	VZEROUPPER
	RET
