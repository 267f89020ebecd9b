#pragma once
/// \file
/// How bent the body is, what that does to every key, and what leaning posts do.

#include <optional>
#include <string>
#include <vector>

#include "hingeline/base/said.h"
#include "hingeline/body/bow.h"
#include "hingeline/service/bench.h"
#include "hingeline/service/worked.h"

namespace hingeline::service {

/// What the straightedge says.
struct BowRead {
  Worked curvature;              ///< of the neutral axis, 1/m; above 0: hollow on the plus side
  Worked sagitta;                ///< over the chord, mm, signed alike
  std::optional<Worked> radius;  ///< m; absent where the body may as well be straight
  body::Bow bow;
};

/// What the keys say by themselves.
struct BowTold {
  Worked curvature;
  Worked common;  ///< end play that all keys have beyond the middle of their windows, mm
  double chi_square = 0;
  std::size_t degrees_of_freedom = 0;
  std::size_t used = 0;
  std::size_t asked = 0;
};

struct BowKey {
  std::string id;
  std::string name;
  std::optional<Error> problem;    ///< of the key, or of it on so bent a body
  bool placed = false;             ///< its place off the axis is known; only then is the rest worked out
  Worked end_play;                 ///< as it is now
  Length low, high;                ///< window
  Worked effect;                   ///< what the bend does to the end play
  Worked remains;                  ///< end play after straightening
  std::optional<Worked> share;     ///< of what it has too much or too little, %; absent within the window
  Angle lean;                      ///< of each post by the bend
  Length tilt_cost;                ///< end play lost by that lean
  std::optional<double> distance;  ///< from what the other keys tell, in standard uncertainties
  bool contradicts = false;
  Said words;
};

/// Posts of one key that do not stand as they should.
struct PostsKey {
  std::string id;
  std::string name;
  Worked span_change;  ///< of the distance between the points
  Worked upper_tilt;   ///< between point and key's axis
  Worked lower_tilt;
  Worked effect;                ///< on the end play, with what the tilts cost
  Worked remains;               ///< end play with the posts brought back
  std::optional<Worked> bow;    ///< a rod: how far the posts bend it
  std::optional<Worked> force;  ///< that presses it straight to its clearance
  std::vector<Said> corrections;
  Said words;
};

struct BowResult {
  std::string title;
  std::optional<BowRead> read;
  std::optional<BowTold> told;
  std::optional<body::Comparison> comparison;
  std::vector<Said> words;  ///< of the body: which way it is hollow, whether evenly, whether the keys agree
  std::vector<BowKey> keys;
  std::vector<PostsKey> posts;
  std::vector<Said> notes;
};

/// Fault::content where the document has no bow reading, no hinge line's place off the axis and no reading of
/// a post; the body's faults where the readings cannot be a bent body's.
Expected<BowResult> bow(const InstrumentResult& result, const record::Instrument& instrument,
                        const record::Shop& shop);

/// The bend alone, of the document's bow readings.
std::optional<BodyBend> bend_read(const record::Instrument& instrument, const record::Shop& shop);

std::string to_json(const BowResult& result, LengthUnit unit, const std::string& only_key = {});

}  // namespace hingeline::service
