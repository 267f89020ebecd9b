#include "hingeline/belief/cause.h"

namespace hingeline::belief {
namespace {

struct Names {
  const char* word;
  const char* code;
};

constexpr std::array<Names, kCauseCount> kCauses{{{"sound", "sound"},
                                                  {"short fit", "short-fit"},
                                                  {"over-cut", "over-cut"},
                                                  {"worn hole", "worn-hole"},
                                                  {"tapers that do not match", "taper-mismatch"},
                                                  {"straight hole", "straight-hole"},
                                                  {"tip on the floor", "tip-on-floor"},
                                                  {"screw not home", "screw-off"},
                                                  {"loose thread", "loose-thread"},
                                                  {"post moved", "post-moved"},
                                                  {"bent body", "bent-body"},
                                                  {"bent tube or rod", "bent-key"},
                                                  {"worn bore", "worn-bore"},
                                                  {"dirt or dried oil", "dirt"},
                                                  {"warmth or moisture", "climate"}}};

constexpr std::array<const char*, kCauseCount> kMeanings{
    "nothing wrong was found",
    "the points do not stand out far enough: too much end play, all else in order",
    "seats or screws stand too deep: no end play is left",
    "a key end worn oval and bell-mouthed: it rocks even when pushed home",
    "point and hole have different tapers and touch along an edge",
    "a conical point in a straight hole touches only its rim",
    "the tip stands on the bottom of its hole before its sides carry",
    "a screw is not on its seat, or has backed out",
    "a screw wobbles in its post",
    "a post was knocked out of its place and leans",
    "the body is bowed: posts close in on one side and spread on the other",
    "the key's tube or its rod is bent",
    "the rod is loose in its tube",
    "dried oil, lint or grit in a joint",
    "right on the bench, wrong in the warmth, cold or damp it is played in"};

constexpr std::array<Names, kCheckCount> kChecks{
    {{"does the key stick", "sticks"},
     {"end play", "end-play"},
     {"rock, pushed home up", "rock-upper"},
     {"rock, pushed home down", "rock-lower"},
     {"rock at the pad", "rock-pad"},
     {"gap under the upper head", "stand-off-upper"},
     {"gap under the lower head", "stand-off-lower"},
     {"does the upper screw turn by the finger", "slack-upper"},
     {"does the lower screw turn by the finger", "slack-lower"},
     {"does the upper screw wobble", "wobble-upper"},
     {"does the lower screw wobble", "wobble-lower"},
     {"ink on the upper point", "ink-upper"},
     {"ink on the lower point", "ink-lower"},
     {"look into the upper hole", "look-upper"},
     {"look into the lower hole", "look-lower"},
     {"does it free with the upper screw backed off", "back-off-upper"},
     {"does it free with the lower screw backed off", "back-off-lower"},
     {"does the upper post stand out of square", "post-upper"},
     {"does the lower post stand out of square", "post-lower"},
     {"bow of the body", "bow"},
     {"do the neighbours have it too", "neighbours"},
     {"run-out of the tube or rod", "roll"},
     {"rod in its bore", "bore"},
     {"does cleaning help", "clean"},
     {"does warmth change it", "warmth"}}};

constexpr std::array<const char*, kCheckCount> kHow{
    "Unhook the spring and swing the key through its travel by hand.",
    "Unhook the spring; indicator along the hinge line on the key; push it home both ways. If it binds, back "
    "one "
    "screw off until the key just swings: turns times pitch is the bind, typed below zero. "
    "On a rod: posts' distance less tube, both gauged.",
    "Push the key home towards the upper post and hold it there; indicator across the upper end; rock that "
    "end.",
    "Push the key home towards the lower post and hold it there; indicator across the lower end; rock that "
    "end.",
    "Indicator across the hinge line at the pad; rock the key there without turning it.",
    "Tighten the upper screw by hand, then try a feeler under its head.",
    "Tighten the lower screw by hand, then try a feeler under its head.",
    "Try to turn the upper screw with a finger, no driver.",
    "Try to turn the lower screw with a finger, no driver.",
    "Key off; screw in its place; press its point sideways.",
    "Key off; screw in its place; press its point sideways.",
    "Ink the upper point, fit the key, work it twenty times, take it off: where is the ink rubbed away?",
    "Ink the lower point, fit the key, work it twenty times, take it off: where is the ink rubbed away?",
    "Key off, a light and a glass: what is the upper hole like?",
    "Key off, a light and a glass: what is the lower hole like?",
    "Back the upper screw off an eighth of a turn and swing the key.",
    "Back the lower screw off an eighth of a turn and swing the key.",
    "A small square on the body, against the upper post.",
    "A small square on the body, against the lower post.",
    "Straightedge along the body between its ends on this side; feeler at the widest gap; hollow counts as "
    "plus.",
    "Try the keys on the same side for the same, and those across for the opposite.",
    "Key or rod off; roll it on a flat plate; feeler or indicator at its middle.",
    "Rod out; gauge its diameter and the bore's; type the difference.",
    "Key off; clean points, holes and rod with pegwood and solvent; dry; fresh oil; try again. Ventilate; no "
    "flame.",
    "Warm the instrument by some ten degrees where it will be played, and try the key again."};

constexpr std::array<Names, kCureCount> kCures{{{"leave it", "leave"},
                                                {"clean and oil it", "clean"},
                                                {"set the screw", "set-screw"},
                                                {"mend the thread", "mend-thread"},
                                                {"bring the post back", "restore-post"},
                                                {"straighten the body", "straighten-body"},
                                                {"straighten the tube or rod", "straighten-key"},
                                                {"suit it to its climate", "suit-climate"},
                                                {"fit tube and rod", "fit-rod"},
                                                {"deepen the hole or shorten the tip", "deepen-hole"},
                                                {"restore the hole", "restore-hole"},
                                                {"ease it by a least ream", "ease"},
                                                {"cut the seats", "cut"}}};

constexpr std::array<const char*, kComplaintCount> kComplaints{"loose", "binds", "sluggish", "noisy"};

template <class Enum, std::size_t N>
std::optional<Enum> find_code(const std::array<Names, N>& names, const std::string& code) {
  for (std::size_t k = 0; k < N; ++k) {
    if (code == names[k].code) return static_cast<Enum>(k);
  }
  return std::nullopt;
}

}  // namespace

const char* word(Cause c) { return kCauses[static_cast<std::size_t>(c)].word; }
const char* code(Cause c) { return kCauses[static_cast<std::size_t>(c)].code; }
std::optional<Cause> cause_of(const std::string& code) { return find_code<Cause>(kCauses, code); }
const char* meaning(Cause c) { return kMeanings[static_cast<std::size_t>(c)]; }

const char* word(Complaint c) { return kComplaints[static_cast<std::size_t>(c)]; }
std::optional<Complaint> complaint_of(const std::string& word) {
  for (std::size_t k = 0; k < kComplaintCount; ++k) {
    if (word == kComplaints[k]) return static_cast<Complaint>(k);
  }
  return std::nullopt;
}

const char* word(Check c) { return kChecks[static_cast<std::size_t>(c)].word; }
const char* code(Check c) { return kChecks[static_cast<std::size_t>(c)].code; }
std::optional<Check> check_of(const std::string& code) { return find_code<Check>(kChecks, code); }
const char* how(Check c) { return kHow[static_cast<std::size_t>(c)]; }

std::optional<mechanism::Side> side_of(Check c) {
  using mechanism::Side;
  switch (c) {
    case Check::rock_upper:
    case Check::stand_off_upper:
    case Check::slack_upper:
    case Check::wobble_upper:
    case Check::ink_upper:
    case Check::look_upper:
    case Check::back_off_upper:
    case Check::post_upper:
      return Side::upper;
    case Check::rock_lower:
    case Check::stand_off_lower:
    case Check::slack_lower:
    case Check::wobble_lower:
    case Check::ink_lower:
    case Check::look_lower:
    case Check::back_off_lower:
    case Check::post_lower:
      return Side::lower;
    default:
      return std::nullopt;
  }
}

const std::vector<std::string>& answers(Check c) {
  static const std::vector<std::string> none;
  static const std::vector<std::string> no_yes{"no", "yes"};
  static const std::vector<std::string> sticks{"free", "all round", "at one place"};
  static const std::vector<std::string> ink{"flank", "rim", "tip"};
  static const std::vector<std::string> look{"clean cone", "worn", "straight"};
  if (is_reading(c)) return none;
  switch (c) {
    case Check::sticks:
      return sticks;
    case Check::ink_upper:
    case Check::ink_lower:
      return ink;
    case Check::look_upper:
    case Check::look_lower:
      return look;
    default:
      return no_yes;
  }
}

const char* word(Cure c) { return kCures[static_cast<std::size_t>(c)].word; }
const char* code(Cure c) { return kCures[static_cast<std::size_t>(c)].code; }

Cure cure_of(Cause c) {
  switch (c) {
    case Cause::sound:
      return Cure::leave;
    case Cause::short_fit:
      return Cure::cut;
    case Cause::over_cut:
      return Cure::ease;
    case Cause::worn_hole:
    case Cause::taper_mismatch:
    case Cause::straight_hole:
      return Cure::restore_hole;
    case Cause::tip_on_floor:
      return Cure::deepen_hole;
    case Cause::screw_off:
      return Cure::set_screw;
    case Cause::loose_thread:
      return Cure::mend_thread;
    case Cause::post_moved:
      return Cure::restore_post;
    case Cause::bent_body:
      return Cure::straighten_body;
    case Cause::bent_key:
      return Cure::straighten_key;
    case Cause::worn_bore:
      return Cure::fit_rod;
    case Cause::dirt:
      return Cure::clean;
    case Cause::climate:
      break;
  }
  return Cure::suit_climate;
}

double reading_standard(Check check, double middle, double given, const CausePresets& p) {
  if (given > 0) return given;
  switch (check) {
    case Check::end_play:
      return middle < 0 ? p.bind_standard : p.end_play_standard;
    case Check::rock_upper:
    case Check::rock_lower:
    case Check::rock_pad:
      return p.rock_standard;
    case Check::stand_off_upper:
    case Check::stand_off_lower:
      return p.stand_off_standard;
    case Check::bow:
      return p.bow_standard;
    case Check::roll:
      return p.roll_standard;
    default:
      return p.bore_standard;
  }
}

}  // namespace hingeline::belief
