// Draws worked out many at a time against the engine, draw by draw: with two draws the ends of the coverage
// interval are the two draws themselves.

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstring>
#include <map>

#include "../libs/belief/src/block.h"
#include "belief/knowledge.h"
#include "hingeline/belief/propagate.h"
#include "hingeline/contact/joint.h"
#include "hingeline/numeric/fill.h"
#include "hingeline/numeric/random.h"

namespace hingeline::belief {
namespace {

using contact::HoleForm;
using contact::HoleShape;
using contact::PointForm;
using contact::PointShape;
using contact::TipShape;

/// Seeded choices.
class Chance {
 public:
  explicit Chance(std::uint64_t seed) : stream_(seed, 0) {}
  double between(double low, double high) { return low + (high - low) * stream_.uniform(); }
  int below(int n) { return static_cast<int>(stream_.uniform() * n); }

 private:
  numeric::Stream stream_;
};

enum class Tip { flat, worn, pin };

template <Side S, auto Member>
void set_point(KeyGeometry& g, double v) {
  g.at(S).point.*Member = std::remove_cvref_t<decltype(g.upper.point.*Member)>::of(v);
}
template <Side S, auto Member>
void set_hole(KeyGeometry& g, double v) {
  g.at(S).hole.*Member = std::remove_cvref_t<decltype(g.upper.hole.*Member)>::of(v);
}
template <auto Member>
void set_pad(KeyGeometry& g, double v) {
  (*g.pad).*Member = std::remove_cvref_t<decltype((*g.pad).*Member)>::of(v);
}

/// A key of drawn forms, each of its numbers with a doubt of about `doubt` mm or rad.
class DrawnKey {
 public:
  DrawnKey(Chance& chance, Tip tip, HoleShape hole, double doubt) : chance_(chance), doubt_(doubt) {
    KeyGeometry& g = key.geometry;
    g.key_length = millimetres(chance.between(8, 90));
    g.span = g.key_length + millimetres(chance.between(0.02, 0.9));
    if (chance.below(4) > 0) {
      g.pad = mechanism::Pad{millimetres(chance.between(5, 45)), g.key_length * chance.between(-0.2, 1.2),
                             millimetres(chance.between(6, 30)), degrees(chance.between(0, 360))};
    }
    end<Side::upper>(tip, hole);
    end<Side::lower>(tip, hole);
    take("key length", g.key_length.raw(), samples::set_key_length);
    take("span", g.span.raw(), samples::set_span);
    if (!g.pad) return;
    take("tone hole", g.pad->tone_hole.raw(), &set_pad<&mechanism::Pad::tone_hole>);
    take("station", g.pad->station.raw(), &set_pad<&mechanism::Pad::station>);
    take("arm", g.pad->arm.raw(), &set_pad<&mechanism::Pad::arm>);
    take("clock", g.pad->clock.raw(), &set_pad<&mechanism::Pad::clock>);
  }
  KeyKnowledge key;

 private:
  void take(const char* name, double value, void (*set)(KeyGeometry&, double)) {
    key.inputs.push_back(samples::input(name, value, doubt_ * chance_.between(0.3, 1), set));
  }
  template <Side S>
  void end(Tip tip, HoleShape shape) {
    JointGeometry& j = key.geometry.at(S);
    PointForm& p = j.point;
    HoleForm& h = j.hole;
    p.length = millimetres(chance_.between(2.5, 5));
    const double angle = chance_.between(6, 35);
    const bool matched = chance_.below(2) == 0;
    const double mouth = chance_.between(0.5, 1.2);
    take("point length", p.length.raw(), &set_point<S, &PointForm::length>);
    if (tip == Tip::pin) {
      p.shape = PointShape::parallel;
      p.pin_radius = millimetres(mouth * chance_.between(0.7, 1.0));
      p.pin_length = millimetres(chance_.between(0.6, 2));
      p.shoulder_radius = millimetres(mouth * chance_.between(0.95, 1.6) + 0.05);
      take("pin", p.pin_radius.raw(), &set_point<S, &PointForm::pin_radius>);
      take("pin length", p.pin_length.raw(), &set_point<S, &PointForm::pin_length>);
      take("shoulder", p.shoulder_radius.raw(), &set_point<S, &PointForm::shoulder_radius>);
    } else {
      p.half_angle = degrees(angle);
      p.tip_radius = millimetres(mouth * chance_.between(0.15, 0.9));
      take("half angle", p.half_angle.raw(), &set_point<S, &PointForm::half_angle>);
      take("tip", p.tip_radius.raw(), &set_point<S, &PointForm::tip_radius>);
      if (tip == Tip::worn) {
        p.tip = TipShape::worn;
        p.wear_length = millimetres(chance_.between(0.1, 0.8));
        p.wear_depth = p.tip_radius * chance_.between(0.02, 0.6);
        take("wear length", p.wear_length.raw(), &set_point<S, &PointForm::wear_length>);
        take("wear depth", p.wear_depth.raw(), &set_point<S, &PointForm::wear_depth>);
      }
      if (chance_.below(3) == 0) {
        p.shank_radius = millimetres(mouth * chance_.between(0.9, 1.6));
        take("shank", p.shank_radius.raw(), &set_point<S, &PointForm::shank_radius>);
      }
    }
    h.shape = shape;
    h.mouth_radius = millimetres(mouth);
    h.depth = millimetres(chance_.between(0.5, 3));
    h.half_angle = matched ? p.half_angle : degrees(chance_.between(6, 35));
    h.floor_half_angle = degrees(chance_.between(40, 70));
    h.bell_half_angle = h.half_angle + degrees(chance_.between(4, 30));
    h.bell_depth = h.depth * chance_.between(0.1, 0.5);
    take("mouth", h.mouth_radius.raw(), &set_hole<S, &HoleForm::mouth_radius>);
    take("depth", h.depth.raw(), &set_hole<S, &HoleForm::depth>);
    if (shape == HoleShape::cone || shape == HoleShape::bell) {
      if (matched && tip != Tip::pin) {
        for (Input& input : key.inputs) {
          if (input.set ==
              static_cast<void (*)(KeyGeometry&, double)>(&set_point<S, &PointForm::half_angle>)) {
            input.set = [](KeyGeometry& g, double v) {
              g.at(S).point.half_angle = g.at(S).hole.half_angle = radians(v);
            };
          }
        }
      } else {
        take("hole angle", h.half_angle.raw(), &set_hole<S, &HoleForm::half_angle>);
      }
    }
    if (shape == HoleShape::drilled)
      take("floor angle", h.floor_half_angle.raw(), &set_hole<S, &HoleForm::floor_half_angle>);
    if (shape == HoleShape::bell) {
      take("bell angle", h.bell_half_angle.raw(), &set_hole<S, &HoleForm::bell_half_angle>);
      take("bell depth", h.bell_depth.raw(), &set_hole<S, &HoleForm::bell_depth>);
    }
    j.stop = millimetres(chance_.below(6) == 0 ? -chance_.between(0, 0.2) : chance_.between(0, 0.3));
    take("stop", j.stop.raw(), S == Side::upper ? samples::set_upper_stop : samples::set_lower_stop);
  }

  Chance& chance_;
  double doubt_;
};

/// The same draw by the engine alone; nothing when its parts cannot be.
std::optional<Figures> by_engine(const KeyKnowledge& key, std::uint64_t seed, std::uint64_t draw) {
  numeric::Stream stream(seed, draw);
  KeyGeometry g = key.geometry;
  std::array<double, 2> pair{};
  for (std::size_t i = 0; i < key.inputs.size(); ++i) {
    if (i % 2 == 0) pair = stream.normal_pair();
    const Input& input = key.inputs[i];
    input.set(g, input.value + input.standard * pair[i % 2]);
  }
  const auto hinge = build_hinge(g);
  if (!hinge) return std::nullopt;
  return figures_of(g, *hinge);
}

// Published errors: 2.8e-12 mm for end play and below for its parts (mechanism/hinge.h), 8e-14 mm for each
// clearance (contact/joint.h). Both sides may be that far off. A clearance also moves with the place of the
// key by the steepness of the wall, at most 10 here; a pad's gap and the wander hold clearances times up to
// 45 mm / 8 mm and more.
double allowed(Figure f, const KeyGeometry& g) {
  const double place = 2 * mechanism::kEndPlayWorstError.raw();
  switch (f) {
    case Figure::end_play:
    case Figure::gap_upper:
    case Figure::gap_lower:
    case Figure::face_gap:
    case Figure::insertion_upper:
    case Figure::insertion_lower:
    case Figure::tip_floor_upper:
    case Figure::tip_floor_lower:
      return place;
    default:
      break;
  }
  const double pad =
      g.pad ? std::max(g.pad->tone_hole / std::min(g.key_length, g.pad->arm), g.pad->arm / g.key_length) : 0;
  return (2 * contact::kClearanceWorstError.raw() + 10 * 2 * contact::kHomeWorstError.raw()) * 2 * (1 + pad) +
         place;
}

struct Tally {
  std::size_t keys = 0;
  std::size_t draws = 0;
  std::size_t one_by_one = 0;
  double worst = 0;  ///< distance over what is allowed
};

void compare(const KeyKnowledge& key, std::uint64_t seed, Tally& tally, const std::string& what) {
  const auto p = propagate(key, 2, seed, 1);
  if (!p) return;
  ++tally.keys;
  tally.draws += 2;
  tally.one_by_one += p->one_by_one;
  const std::array<std::optional<Figures>, 2> drawn{by_engine(key, seed, 0), by_engine(key, seed, 1)};
  const std::size_t impossible = (drawn[0] ? 0u : 1u) + (drawn[1] ? 0u : 1u);
  ASSERT_EQ(p->impossible, impossible) << what;
  if (impossible > 0) return;
  for (std::size_t n = 0; n < kFigureCount; ++n) {
    const double a = (*drawn[0])[n];
    const double b = (*drawn[1])[n];
    const FigureSpread& got = p->figures[n];
    const auto f = static_cast<Figure>(n);
    if (std::isnan(a)) {
      ASSERT_TRUE(std::isnan(got.mean)) << what << word(f);
      continue;
    }
    const double apart = std::max(std::abs(std::min(a, b) - got.low), std::abs(std::max(a, b) - got.high));
    const double most = allowed(f, key.geometry);
    tally.worst = std::max(tally.worst, apart / most);
    ASSERT_LE(apart, most) << fmt::format("{}, {}: engine {:.17g} {:.17g}, together {:.17g} {:.17g}", what,
                                          word(f), std::min(a, b), std::max(a, b), got.low, got.high);
  }
}

TEST(Block, FiguresAreTheEnginesForEveryCoveredForm) {
  const std::map<Tip, const char*> tips{{Tip::flat, "flat"}, {Tip::worn, "worn"}, {Tip::pin, "pin"}};
  const std::map<HoleShape, const char*> holes{{HoleShape::cone, "cone"},
                                               {HoleShape::straight, "straight"},
                                               {HoleShape::drilled, "drilled"},
                                               {HoleShape::bell, "bell"}};
  Chance chance(7);
  for (const auto& [tip, tip_word] : tips) {
    for (const auto& [hole, hole_word] : holes) {
      Tally tally;
      for (std::uint64_t n = 0; n < 1500; ++n) {
        const DrawnKey drawn(chance, tip, hole, n % 2 == 0 ? 0.002 : 0.02);
        compare(drawn.key, n, tally, fmt::format("{} in {}, key {}: ", tip_word, hole_word, n));
        if (HasFatalFailure()) return;
      }
      const double share = static_cast<double>(tally.one_by_one) / static_cast<double>(tally.draws);
      RecordProperty(fmt::format("{}_{}", tip_word, hole_word),
                     fmt::format("one by one {:.3f}, worst {:.1e}", share, tally.worst));
      EXPECT_GT(tally.keys, 250u);
      EXPECT_LT(share, 0.75) << tip_word << " in " << hole_word;
    }
  }
}

TEST(Block, EveryWidthGivesTheSameBytes) {
  Chance chance(8);
  std::size_t compared = 0;
  for (const Tip tip : {Tip::flat, Tip::worn, Tip::pin}) {
    for (const HoleShape hole : {HoleShape::cone, HoleShape::straight, HoleShape::drilled, HoleShape::bell}) {
      for (std::uint64_t seed = 0; seed < 20; ++seed) {
        const DrawnKey drawn(chance, tip, hole, 0.01);
        const std::size_t n = drawn.key.inputs.size();
        std::vector<double> mean;
        std::vector<std::vector<double>> steps;
        for (std::size_t i = 0; i < n; ++i) {
          mean.push_back(drawn.key.inputs[i].value);
          steps.emplace_back(n, 0.0);
          steps[i][i] = drawn.key.inputs[i].standard;
        }
        const auto plan = plan_block(drawn.key, mean, steps);
        ASSERT_TRUE(plan);
        std::vector<double> deviates((n + 1) * kTile);
        numeric::fill(seed, 0, kTile, (n + 1) / 2, 0, deviates.data(), kTile);
        const auto by = [&](const BlockWork& work) {
          std::vector<double> rows(kRows * kTile);
          for (std::size_t row = 0; row < kRows; ++row)
            std::fill_n(rows.begin() + static_cast<std::ptrdiff_t>(row * kTile), kTile, plan->still[row]);
          std::vector<double> out((kFigureCount + 3 + 4) * kTile, 0.0);
          work.draw(*plan, deviates.data(), rows.data());
          const std::uint64_t irregular = work.figures(*plan, rows.data(), out.data());
          for (std::uint64_t rest = irregular; rest != 0; rest &= rest - 1) {
            for (std::size_t f = 0; f < kFigureCount; ++f)
              out[f * kTile + static_cast<std::size_t>(std::countr_zero(rest))] = 0;
          }
          std::vector<double> kept(4 * kTile);
          Sieve sieve{0,  0.05, {Bracket{0.0, 0.04}, Bracket{0.1, 0.2}},
                      {}, {},   {kept.data(), kept.data() + 2 * kTile}};
          work.sift(out.data(), false, {&sieve, 1});
          Sums products;
          Sums square_sums;
          std::vector<double> sum(kTile);
          work.combine({{0, 0.3}, {1, -0.2}, {2, 0.7}}, deviates.data(), sum.data());
          work.add_powers(sum.data(), products, square_sums);
          std::vector<double> centred(out.begin(), out.begin() + kTile);
          centred[3] = std::numeric_limits<double>::quiet_NaN();
          work.centre(centred.data(), 0.05);
          work.add_products(centred.data(), std::array<std::size_t, 1>{0}, sum.data(), &products);
          double* more = out.data() + kFigureCount * kTile;
          *more++ = std::bit_cast<double>(irregular);
          for (const auto& parts : {sieve.sums.first, sieve.sums.second, products.first, products.second,
                                    square_sums.first, square_sums.second}) {
            more = std::copy(parts.begin(), parts.end(), more);
          }
          for (const Caught& caught : sieve.caught)
            more = std::copy(caught.below.begin(), caught.below.end(), more);
          *more++ = static_cast<double>(sieve.caught[0].kept);
          *more++ = static_cast<double>(sieve.caught[1].kept);
          for (std::size_t end = 0; end < 2; ++end) {
            std::sort(sieve.kept[end], sieve.kept[end] + sieve.caught[end].kept);
            more = std::copy_n(sieve.kept[end], sieve.caught[end].kept, more);
          }
          return out;
        };
        const auto plain = by(kBlockPlain);
        const auto same = [&](const std::vector<double>& other) {
          return std::memcmp(plain.data(), other.data(), plain.size() * sizeof(double)) == 0;
        };
        if (numeric::widest() >= numeric::Width::avx2) {
          ASSERT_TRUE(same(by(kBlockAvx2)));
        }
        if (numeric::widest() >= numeric::Width::avx512) {
          ASSERT_TRUE(same(by(kBlockAvx512)));
        }
        ++compared;
      }
    }
  }
  EXPECT_EQ(compared, 240u);
}

}  // namespace
}  // namespace hingeline::belief
