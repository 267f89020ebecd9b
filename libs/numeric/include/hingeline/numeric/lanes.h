/// \file
/// Several numbers side by side: the machine's vectors under one set of names, for code that is compiled more
/// than once for different processors.
///
/// A source file that defines HINGELINE_LANES_AVX512 or HINGELINE_LANES_AVX2 and includes this header after
/// all others is compiled for that processor from here on; every other file gets what the build is for.
/// `Lanes` is then the widest the file may use, and `Scalar` is one lane of plain C++. Only IEEE additions,
/// products, quotients, roots, comparisons and bit operations are offered, and none is contracted: every
/// lane's result is the same bits on every processor and for any number of lanes.
///
/// Everything here is always inlined: nothing compiled for one processor can be linked into code for another.
#pragma once

#include <cstddef>
#include <cstdint>

#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__)
#define HINGELINE_LANES_X86 1
#else
#define HINGELINE_LANES_X86 0
#endif

#if HINGELINE_LANES_X86
#include <immintrin.h>
#if defined(HINGELINE_LANES_AVX512)
#pragma GCC target("avx512f,avx512dq,avx512vl,popcnt,prefer-vector-width=512")
#define HINGELINE_LANES_NAME lanes_avx512
#elif defined(HINGELINE_LANES_AVX2)
#pragma GCC target("avx2,popcnt")
#define HINGELINE_LANES_NAME lanes_avx2
#else
#define HINGELINE_LANES_NAME lanes_plain
#endif
#else
#define HINGELINE_LANES_NAME lanes_plain
#endif

#if HINGELINE_LANES_X86
// GCC 12's own intrinsics start from vectors they leave open on purpose (GCC bug 105593).
#pragma GCC diagnostic ignored "-Wmaybe-uninitialized"
#endif

#define HINGELINE_INLINE static inline __attribute__((always_inline))

namespace hingeline::numeric::HINGELINE_LANES_NAME {

/// One lane.
struct Scalar {
  using V = double;
  using U = std::uint64_t;
  using M = bool;
  static constexpr std::size_t kWidth = 1;
  HINGELINE_INLINE V all(double x) { return x; }
  HINGELINE_INLINE U all_bits(std::uint64_t x) { return x; }
  HINGELINE_INLINE V load(const double* from) { return *from; }
  HINGELINE_INLINE void store(double* to, V x) { *to = x; }
  /// first, first + 1, ...
  HINGELINE_INLINE U count_from(std::uint64_t first) { return first; }
  HINGELINE_INLINE V as_number(U x) { return __builtin_bit_cast(double, x); }
  HINGELINE_INLINE U as_bits(V x) { return __builtin_bit_cast(std::uint64_t, x); }
  /// Product of the lower halves.
  HINGELINE_INLINE U times_low(U a, U b) { return (a & 0xffffffff) * (b & 0xffffffff); }
  HINGELINE_INLINE V root(V x) { return __builtin_sqrt(x); }
  HINGELINE_INLINE M less(V a, V b) { return a < b; }
  HINGELINE_INLINE M at_most(V a, V b) { return a <= b; }
  HINGELINE_INLINE M bit_set(U x, std::uint64_t bit) { return (x & bit) != 0; }
  HINGELINE_INLINE M both(M a, M b) { return a && b; }
  HINGELINE_INLINE M either(M a, M b) { return a || b; }
  HINGELINE_INLINE M not_in(M a) { return !a; }
  HINGELINE_INLINE V choose(M m, V yes, V no) { return m ? yes : no; }
  /// One more in the chosen lanes.
  HINGELINE_INLINE U count(U so_far, M m) { return so_far + (m ? 1 : 0); }
  /// a where a < b, else b; so b where one of them is no number.
  HINGELINE_INLINE V least(V a, V b) { return a < b ? a : b; }
  HINGELINE_INLINE V most(V a, V b) { return a > b ? a : b; }
  /// One bit a lane, the first lowest.
  HINGELINE_INLINE unsigned bits_of(M m) { return m ? 1u : 0u; }
  /// Writes the chosen lanes one after another; returns how many. May write over kWidth places.
  HINGELINE_INLINE std::size_t pack(double* to, M m, V x) {
    *to = x;
    return m ? 1 : 0;
  }
};

#if HINGELINE_LANES_X86 && defined(HINGELINE_LANES_AVX512)

struct Lanes {
  using V = __m512d;
  typedef std::uint64_t U __attribute__((vector_size(64)));
  using M = __mmask8;
  static constexpr std::size_t kWidth = 8;
  HINGELINE_INLINE V all(double x) { return _mm512_set1_pd(x); }
  HINGELINE_INLINE U all_bits(std::uint64_t x) { return U{x, x, x, x, x, x, x, x}; }
  HINGELINE_INLINE V load(const double* from) { return _mm512_loadu_pd(from); }
  HINGELINE_INLINE void store(double* to, V x) { _mm512_storeu_pd(to, x); }
  HINGELINE_INLINE U count_from(std::uint64_t first) { return all_bits(first) + U{0, 1, 2, 3, 4, 5, 6, 7}; }
  HINGELINE_INLINE V as_number(U x) { return (V)x; }
  HINGELINE_INLINE U as_bits(V x) { return (U)x; }
  HINGELINE_INLINE U times_low(U a, U b) { return (U)_mm512_mul_epu32((__m512i)a, (__m512i)b); }
  HINGELINE_INLINE V root(V x) { return _mm512_sqrt_pd(x); }
  HINGELINE_INLINE M less(V a, V b) { return _mm512_cmp_pd_mask(a, b, _CMP_LT_OQ); }
  HINGELINE_INLINE M at_most(V a, V b) { return _mm512_cmp_pd_mask(a, b, _CMP_LE_OQ); }
  HINGELINE_INLINE M bit_set(U x, std::uint64_t bit) {
    return _mm512_test_epi64_mask((__m512i)x, (__m512i)all_bits(bit));
  }
  HINGELINE_INLINE M both(M a, M b) { return static_cast<M>(a & b); }
  HINGELINE_INLINE M either(M a, M b) { return static_cast<M>(a | b); }
  HINGELINE_INLINE M not_in(M a) { return static_cast<M>(~a); }
  HINGELINE_INLINE V choose(M m, V yes, V no) { return _mm512_mask_blend_pd(m, no, yes); }
  HINGELINE_INLINE U count(U so_far, M m) { return so_far - (U)_mm512_movm_epi64(m); }
  HINGELINE_INLINE V least(V a, V b) { return _mm512_min_pd(a, b); }
  HINGELINE_INLINE V most(V a, V b) { return _mm512_max_pd(a, b); }
  HINGELINE_INLINE unsigned bits_of(M m) { return m; }
  HINGELINE_INLINE std::size_t pack(double* to, M m, V x) {
    _mm512_storeu_pd(to, _mm512_maskz_compress_pd(m, x));
    return static_cast<std::size_t>(__builtin_popcount(m));
  }
};

#else

#if HINGELINE_LANES_X86 && defined(HINGELINE_LANES_AVX2)
#define HINGELINE_LANES_BYTES 32
#else
#define HINGELINE_LANES_BYTES 16
#endif

struct Lanes {
  typedef double V __attribute__((vector_size(HINGELINE_LANES_BYTES)));
  typedef std::uint64_t U __attribute__((vector_size(HINGELINE_LANES_BYTES)));
  typedef std::int64_t M __attribute__((vector_size(HINGELINE_LANES_BYTES)));
  static constexpr std::size_t kWidth = HINGELINE_LANES_BYTES / 8;
  HINGELINE_INLINE V all(double x) { return x - V{}; }
  HINGELINE_INLINE U all_bits(std::uint64_t x) { return x - U{}; }
  HINGELINE_INLINE V load(const double* from) {
    V x;
    __builtin_memcpy(&x, from, sizeof x);
    return x;
  }
  HINGELINE_INLINE void store(double* to, V x) { __builtin_memcpy(to, &x, sizeof x); }
  HINGELINE_INLINE U count_from(std::uint64_t first) {
    U x = all_bits(first);
    for (std::size_t k = 1; k < kWidth; ++k) x[k] += k;
    return x;
  }
  HINGELINE_INLINE V as_number(U x) { return (V)x; }
  HINGELINE_INLINE U as_bits(V x) { return (U)x; }
  HINGELINE_INLINE U times_low(U a, U b) {
#if HINGELINE_LANES_X86 && defined(HINGELINE_LANES_AVX2)
    return (U)_mm256_mul_epu32((__m256i)a, (__m256i)b);
#elif HINGELINE_LANES_X86
    return (U)_mm_mul_epu32((__m128i)a, (__m128i)b);
#else
    return (a & 0xffffffff) * (b & 0xffffffff);
#endif
  }
  HINGELINE_INLINE V root(V x) {
#if HINGELINE_LANES_X86 && defined(HINGELINE_LANES_AVX2)
    return _mm256_sqrt_pd(x);
#elif HINGELINE_LANES_X86
    return _mm_sqrt_pd(x);
#else
    for (std::size_t k = 0; k < kWidth; ++k) x[k] = __builtin_sqrt(x[k]);
    return x;
#endif
  }
  HINGELINE_INLINE M less(V a, V b) { return a < b; }
  HINGELINE_INLINE M at_most(V a, V b) { return a <= b; }
  HINGELINE_INLINE M bit_set(U x, std::uint64_t bit) { return (x & bit) != 0; }
  HINGELINE_INLINE M both(M a, M b) { return a & b; }
  HINGELINE_INLINE M either(M a, M b) { return a | b; }
  HINGELINE_INLINE M not_in(M a) { return ~a; }
  HINGELINE_INLINE V choose(M m, V yes, V no) { return (V)(((M)yes & m) | ((M)no & ~m)); }
  HINGELINE_INLINE U count(U so_far, M m) { return so_far - (U)m; }
  HINGELINE_INLINE V least(V a, V b) {
#if HINGELINE_LANES_X86 && defined(HINGELINE_LANES_AVX2)
    return _mm256_min_pd(a, b);
#elif HINGELINE_LANES_X86
    return _mm_min_pd(a, b);
#else
    return choose(less(a, b), a, b);
#endif
  }
  HINGELINE_INLINE V most(V a, V b) {
#if HINGELINE_LANES_X86 && defined(HINGELINE_LANES_AVX2)
    return _mm256_max_pd(a, b);
#elif HINGELINE_LANES_X86
    return _mm_max_pd(a, b);
#else
    return choose(less(b, a), a, b);
#endif
  }
  HINGELINE_INLINE unsigned bits_of(M m) {
#if HINGELINE_LANES_X86 && defined(HINGELINE_LANES_AVX2)
    return static_cast<unsigned>(_mm256_movemask_pd((__m256d)m));
#elif HINGELINE_LANES_X86
    return static_cast<unsigned>(_mm_movemask_pd((__m128d)m));
#else
    unsigned bits = 0;
    for (std::size_t k = 0; k < kWidth; ++k) bits |= (m[k] != 0 ? 1u : 0u) << k;
    return bits;
#endif
  }
  HINGELINE_INLINE std::size_t pack(double* to, M m, V x) {
    std::size_t n = 0;
    for (unsigned bits = bits_of(m); bits != 0; bits &= bits - 1) to[n++] = x[__builtin_ctz(bits)];
    return n;
  }
};

#endif

/// N vectors for one, each operation written out for all: a chain of operations that wait for one another
/// then leaves no gaps.
template <class L, std::size_t N>
struct Numbers {
  typename L::V part[N];
};
template <class L, std::size_t N>
struct Bits {
  typename L::U part[N];
};
template <class L, std::size_t N>
struct Truths {
  typename L::M part[N];
};
#define HINGELINE_EACH(type, expression)                                                      \
  type out;                                                                                   \
  _Pragma("GCC unroll 8") for (std::size_t n = 0; n < N; ++n) { out.part[n] = (expression); } \
  return out
#define HINGELINE_OPERATOR(Kind, op)                                                  \
  template <class L, std::size_t N>                                                   \
  HINGELINE_INLINE Kind<L, N> operator op(const Kind<L, N>& a, const Kind<L, N>& b) { \
    using Out = Kind<L, N>;                                                           \
    HINGELINE_EACH(Out, a.part[n] op b.part[n]);                                      \
  }
HINGELINE_OPERATOR(Numbers, +)
HINGELINE_OPERATOR(Numbers, -)
HINGELINE_OPERATOR(Numbers, *)
HINGELINE_OPERATOR(Numbers, /)
HINGELINE_OPERATOR(Bits, +)
HINGELINE_OPERATOR(Bits, -)
HINGELINE_OPERATOR(Bits, &)
HINGELINE_OPERATOR(Bits, |)
HINGELINE_OPERATOR(Bits, ^)
#undef HINGELINE_OPERATOR
template <class L, std::size_t N>
HINGELINE_INLINE Bits<L, N> operator<<(const Bits<L, N>& a, int by) {
  using Out = Bits<L, N>;
  HINGELINE_EACH(Out, a.part[n] << by);
}
template <class L, std::size_t N>
HINGELINE_INLINE Bits<L, N> operator>>(const Bits<L, N>& a, int by) {
  using Out = Bits<L, N>;
  HINGELINE_EACH(Out, a.part[n] >> by);
}

template <class L, std::size_t N>
struct Several {
  using V = Numbers<L, N>;
  using U = Bits<L, N>;
  using M = Truths<L, N>;
  static constexpr std::size_t kWidth = N * L::kWidth;
  HINGELINE_INLINE V all(double x) { HINGELINE_EACH(V, L::all(x)); }
  HINGELINE_INLINE U all_bits(std::uint64_t x) { HINGELINE_EACH(U, L::all_bits(x)); }
  HINGELINE_INLINE V load(const double* from) { HINGELINE_EACH(V, L::load(from + n * L::kWidth)); }
  HINGELINE_INLINE void store(double* to, const V& x) {
    for (std::size_t n = 0; n < N; ++n) L::store(to + n * L::kWidth, x.part[n]);
  }
  HINGELINE_INLINE U count_from(std::uint64_t first) {
    HINGELINE_EACH(U, L::count_from(first + n * L::kWidth));
  }
  HINGELINE_INLINE V as_number(const U& x) { HINGELINE_EACH(V, L::as_number(x.part[n])); }
  HINGELINE_INLINE U as_bits(const V& x) { HINGELINE_EACH(U, L::as_bits(x.part[n])); }
  HINGELINE_INLINE U times_low(const U& a, const U& b) {
    HINGELINE_EACH(U, L::times_low(a.part[n], b.part[n]));
  }
  HINGELINE_INLINE V root(const V& x) { HINGELINE_EACH(V, L::root(x.part[n])); }
  HINGELINE_INLINE M less(const V& a, const V& b) { HINGELINE_EACH(M, L::less(a.part[n], b.part[n])); }
  HINGELINE_INLINE M at_most(const V& a, const V& b) { HINGELINE_EACH(M, L::at_most(a.part[n], b.part[n])); }
  HINGELINE_INLINE M bit_set(const U& x, std::uint64_t bit) { HINGELINE_EACH(M, L::bit_set(x.part[n], bit)); }
  HINGELINE_INLINE M both(const M& a, const M& b) { HINGELINE_EACH(M, L::both(a.part[n], b.part[n])); }
  HINGELINE_INLINE M either(const M& a, const M& b) { HINGELINE_EACH(M, L::either(a.part[n], b.part[n])); }
  HINGELINE_INLINE M not_in(const M& a) { HINGELINE_EACH(M, L::not_in(a.part[n])); }
  HINGELINE_INLINE V least(const V& a, const V& b) { HINGELINE_EACH(V, L::least(a.part[n], b.part[n])); }
  HINGELINE_INLINE V most(const V& a, const V& b) { HINGELINE_EACH(V, L::most(a.part[n], b.part[n])); }
  HINGELINE_INLINE unsigned bits_of(const M& m) {
    unsigned bits = 0;
    for (std::size_t n = 0; n < N; ++n) bits |= L::bits_of(m.part[n]) << (n * L::kWidth);
    return bits;
  }
  HINGELINE_INLINE V choose(const M& m, const V& yes, const V& no) {
    HINGELINE_EACH(V, L::choose(m.part[n], yes.part[n], no.part[n]));
  }
};
#undef HINGELINE_EACH

}  // namespace hingeline::numeric::HINGELINE_LANES_NAME

namespace hingeline::numeric {
namespace lanes = HINGELINE_LANES_NAME;
}
