// The bench's own contact against the engine, which it shares nothing with but the forms.

#include "hingeline/mechanism/hinge.h"
#include "support.h"

namespace hingeline::virtual_bench {
namespace {

contact::Joint engine_joint(const belief::JointGeometry& j) {
  auto point = contact::make_point(j.point);
  auto hole = contact::make_hole(j.hole);
  EXPECT_TRUE(point && hole);
  return {std::move(*point), std::move(*hole)};
}

/// A hinge of these joints with that end play and its faces far off.
mechanism::Hinge engine_hinge(const HiddenKey& key, const KeyGeometry& sound, Length end_play) {
  constexpr Length kFace = millimetres(0.2);
  const auto end = [&](Side side) -> mechanism::HingeEnd {
    contact::Joint joint = engine_joint(key.joint(side));
    const Length protrusion = joint.home().insertion + kFace;
    return {std::move(joint), protrusion};
  };
  return {sound.key_length + end_play + 2 * kFace, sound.key_length, end(Side::upper), end(Side::lower)};
}

struct Worst {
  double home = 0;
  double home_rock = 0;
  double pad_rock = 0;
  std::size_t keys = 0;
};

/// Largest differences to the engine over drawn keys with all causes, mm.
Worst compare(const KeyGeometry& sound) {
  Worst worst;
  CausePresets presets;
  presets.two_causes = 0.5;
  const double share = sound.pad->station / sound.key_length;
  for (std::uint64_t k = 0; k < 300; ++k) {
    const HiddenKey key = draw(sound, presets, k);
    const Sizes& s = key.sizes();
    for (const Side side : kBothSides) {
      const contact::Home home = engine_joint(key.joint(side)).home();
      worst.home = std::max(worst.home, std::abs((key.home_insertion(side) - home.insertion).raw()));
    }
    if (key.left_easiest().raw() <= 0) continue;
    ++worst.keys;
    const mechanism::Hinge hinge = engine_hinge(key, sound, key.left_easiest());
    EXPECT_NEAR(hinge.travel().end_play().raw(), key.left_easiest().raw(), 1e-11);
    double loose = 0;
    for (const Side side : kBothSides) {
      const double radius = (key.side_of(Cause::loose_thread) == side ? s.slop.raw() : 0) +
                            (key.side_of(Cause::worn_hole) == side ? s.oval.raw() : 0);
      loose += (side == Side::upper ? 1 - share : share) * radius;
      const double rock = mechanism::home_end(hinge, side).rock_there.raw() + 2 * radius;
      worst.home_rock = std::max(worst.home_rock, std::abs(key.home_rock(side).raw() - rock));
    }
    const double rock = mechanism::rock(mechanism::Play(hinge), sound.pad->station).travel.raw() + 2 * loose;
    worst.pad_rock = std::max(worst.pad_rock, std::abs(key.pad_rock().raw() - rock));
  }
  return worst;
}

TEST(Contact, ConesAreTheEnginesToRounding) {
  const Worst worst = compare(cone_key());
  EXPECT_GT(worst.keys, 200U);
  EXPECT_LT(worst.home, 1e-11);
  EXPECT_LT(worst.home_rock, 1e-11);
  EXPECT_LT(worst.pad_rock, 1e-9);
}

TEST(Contact, AtAKinkInsideTheEndPlayTheErrorIsAsSaid) {
  // Pins whose tips' edges carry in the cone under a straight bore: rock is largest in the middle of the end
  // play, where both pins come off their cones (slope 0.7) and have only the bore's clearance.
  KeyGeometry key = cone_key();
  for (const Side side : kBothSides) {
    belief::JointGeometry& joint = key.at(side);
    joint.point.shape = contact::PointShape::parallel;
    joint.point.pin_radius = joint.point.shoulder_radius = millimetres(0.5);
    joint.point.pin_length = joint.point.length;
    joint.hole.shape = contact::HoleShape::pairs;
    joint.hole.pairs = {{millimetres(0), millimetres(0.5501)},
                        {millimetres(1), millimetres(0.5501)},
                        {millimetres(1.5), millimetres(0.2001)}};
  }
  const Worst worst = compare(key);
  EXPECT_GT(worst.keys, 200U);
  EXPECT_LT(worst.home, 1e-11);
  EXPECT_LT(worst.home_rock, 1e-11);
  EXPECT_LT(worst.pad_rock, 1.5 * HiddenKey::kRockStep.raw() * 0.7);
  EXPECT_GT(worst.pad_rock, 1e-5);
}

TEST(Contact, RoundedPartsAreWithinBothPolylines) {
  // Both stand for an arc by chords: the engine within 5e-5 mm of it, the bench within 1.1e-4 for radii up to
  // 0.75 mm; along the axis over the sine of 20 degrees.
  const double along = 1.6e-4 / std::sin(20 * std::numbers::pi / 180);
  for (const KeyGeometry& key : {ball_key(), tipped_key()}) {
    const Worst worst = compare(key);
    EXPECT_GT(worst.keys, 200U);
    EXPECT_LT(worst.home, along);
    EXPECT_LT(worst.home_rock, 4e-4);
    EXPECT_LT(worst.pad_rock, 1.5 * HiddenKey::kRockStep.raw());
  }
}

TEST(Contact, DamageShapesTheHoleAsSaid) {
  const KeyGeometry sound = cone_key();
  const double home = draw(sound, only(Cause::sound), 0).home_insertion(Side::upper).raw();
  EXPECT_NEAR(home, 0.6 / std::tan(20 * std::numbers::pi / 180), 1e-12);
  for (std::uint64_t k = 0; k < 100; ++k) {
    const auto of = [&](Cause cause) {
      HiddenKey key = draw(sound, only(cause), k);
      return std::pair{key, *key.side_of(cause)};
    };
    const auto [floor, floor_end] = of(Cause::tip_on_floor);
    EXPECT_NEAR(floor.home_insertion(floor_end).raw(), home - floor.sizes().floor.raw(), 1e-12);
    EXPECT_NEAR(floor.home_insertion(mechanism::other(floor_end)).raw(), home, 1e-12);
    const auto [worn, worn_end] = of(Cause::worn_hole);
    EXPECT_NEAR(worn.home_insertion(worn_end).raw(), home, 1e-12);
    EXPECT_GT(worn.joint(worn_end).hole.mouth_radius, sound.upper.hole.mouth_radius);
    const auto [straight, straight_end] = of(Cause::straight_hole);
    EXPECT_NEAR(straight.home_insertion(straight_end).raw(), home, 1e-12);
    const auto [tapers, tapers_end] = of(Cause::taper_mismatch);
    if (tapers.sizes().mismatch.raw() < 0) {
      EXPECT_NEAR(tapers.home_insertion(tapers_end).raw(), home, 1e-12);
    } else {
      // The edge of the tip on a blunter wall.
      const double wall = std::tan(20 * std::numbers::pi / 180 + tapers.sizes().mismatch.raw());
      EXPECT_NEAR(tapers.home_insertion(tapers_end).raw(), 0.6 / wall, 1e-12);
    }
  }
}

TEST(Contact, RodsAreLooseByTheirBore) {
  const KeyGeometry sound = rod_key();
  for (const Cause cause : {Cause::sound, Cause::worn_bore}) {
    const HiddenKey key = draw(sound, only(cause), 7);
    const double clearance = 0.008 + key.sizes().bore_wear.raw();
    EXPECT_NEAR(key.pad_rock().raw(), 2 * clearance, 1e-12);
    EXPECT_NEAR(key.home_rock(Side::lower).raw(), 2 * clearance, 1e-12);
    EXPECT_EQ(key.home_insertion(Side::upper).raw(), 0);
  }
  KeyGeometry ungauged = sound;
  ungauged.bore = ungauged.rod_diameter = {};
  EXPECT_NEAR(draw(ungauged, only(Cause::sound), 7).pad_rock().raw(), 2 * CausePresets{}.bore_clearance,
              1e-12);
}

TEST(Left, ALeanEatsEndPlay) {
  const double per_radian =
      0.6 / std::tan(20 * std::numbers::pi / 180) / std::sin(40 * std::numbers::pi / 180);
  for (std::uint64_t k = 0; k < 100; ++k) {
    // Without a bend the residual lean is in the fit.
    const HiddenKey sound = draw(cone_key(), only(Cause::sound), k);
    EXPECT_NEAR(sound.left_easiest().raw(), sound.sizes().fit.raw(), 1e-12);
    EXPECT_NEAR(sound.left_worst().raw(), sound.sizes().fit.raw(), 1e-12);

    const HiddenKey post = draw(cone_key(), only(Cause::post_moved), k);
    const double lean = std::abs(post.sizes().post.raw()) / 8;
    const double moved = post.sizes().fit.raw() + post.sizes().post.raw() - per_radian * lean;
    EXPECT_NEAR(post.left_easiest().raw(), moved, 1e-12);
    EXPECT_NEAR(post.left_worst().raw(), moved, 1e-12);
    EXPECT_EQ(post.end_play(), post.left_easiest());

    const HiddenKey bent = draw(cone_key(), only(Cause::bent_key), k);
    const double turning = 4 * 0.10 / 40;
    const double residual = bent.sizes().residual_lean.raw();
    EXPECT_NEAR(bent.left_easiest().raw(),
                bent.sizes().fit.raw() - 2 * per_radian * std::max(0.0, turning - residual), 1e-12);
    EXPECT_NEAR(bent.left_worst().raw(), bent.sizes().fit.raw() - 2 * per_radian * (turning + residual),
                1e-12);

    const HiddenKey body = draw(cone_key(), only(Cause::bent_body), k);
    const double bow = body.sizes().bow.raw();
    const double curvature = 8 * bow / (200 * 200 + 4 * bow * bow);
    const double body_lean = std::abs(curvature) * 40.42 / 2;
    EXPECT_NEAR(body.left_worst().raw(),
                body.sizes().fit.raw() - curvature * body.sizes().line_offset.raw() * 40.42 -
                    2 * per_radian * body_lean,
                1e-12);

    CausePresets presets = only(Cause::post_moved);
    presets.two_causes = 1;
    presets.share[static_cast<std::size_t>(Cause::bent_key)] = 1;
    const HiddenKey both = draw(cone_key(), presets, k);
    const double r = both.sizes().residual_lean.raw();
    const double leans = std::abs(both.sizes().post.raw()) / 8;
    const double all = both.sizes().fit.raw() + both.sizes().post.raw();
    EXPECT_NEAR(
        both.left_easiest().raw(),
        all - per_radian * (std::max(0.0, std::abs(leans - turning) - r) + std::max(0.0, turning - r)),
        1e-12);
    EXPECT_NEAR(both.left_worst().raw(), all - per_radian * (leans + 2 * turning + 2 * r), 1e-12);

    const HiddenKey rod = draw(rod_key(), only(Cause::bent_key), k);
    const double free = 0.016 - 0.10;
    EXPECT_NEAR(rod.left_easiest().raw(), free + rod.sizes().residual_runout.raw(), 1e-12);
    EXPECT_NEAR(rod.left_worst().raw(), free - rod.sizes().residual_runout.raw(), 1e-12);
    EXPECT_NEAR(rod.end_play().raw(), rod.sizes().fit.raw(), 1e-12);
  }
}

TEST(Left, WhereNothingIsLeftOnlySlopIsFelt) {
  CausePresets presets = only(Cause::worn_hole);
  presets.two_causes = 1;
  presets.share[static_cast<std::size_t>(Cause::over_cut)] = 1;
  const HiddenKey stuck = draw(cone_key(), presets, 1);
  ASSERT_LT(stuck.left_easiest().raw(), 0);
  EXPECT_EQ(stuck.pad_rock().raw(), 0);
  EXPECT_EQ(stuck.home_rock(*stuck.side_of(Cause::worn_hole)).raw(), 0);

  presets.share[static_cast<std::size_t>(Cause::worn_hole)] = 0;
  presets.share[static_cast<std::size_t>(Cause::loose_thread)] = 1;
  const HiddenKey wobbly = draw(cone_key(), presets, 1);
  ASSERT_LT(wobbly.left_easiest().raw(), 0);
  const Side side = *wobbly.side_of(Cause::loose_thread);
  EXPECT_NEAR(wobbly.home_rock(side).raw(), 0.06, 1e-12);
  EXPECT_NEAR(wobbly.pad_rock().raw(), 0.06 * (side == Side::upper ? 0.375 : 0.625), 1e-12);
}

}  // namespace
}  // namespace hingeline::virtual_bench
