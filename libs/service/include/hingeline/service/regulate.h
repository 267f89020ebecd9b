#pragma once
/// \file
/// Linked keys of one instrument: openings, lost motion, pairs that should close together, and which cork or
/// felt puts them right.

#include <optional>
#include <string>
#include <vector>

#include "hingeline/service/bench.h"
#include "hingeline/service/worked.h"

namespace hingeline::service {

/// What opening a pad otherwise does to one of its links.
struct LinkEffect {
  std::string from;
  std::string to;
  Length gap;  ///< change of its lost motion
};
/// One pad at rest.
struct OpeningResult {
  std::string key;  ///< id
  std::optional<Given> opening;
  bool by_travel = false;     ///< it was not read: the "travel" of the key's "moving" stands in
  std::optional<Length> low;  ///< wanted
  std::optional<Length> high;
  /// How much wider it has to open to be as wanted, as far inside as the reading is unsure but not past the
  /// middle; below 0: less. None: as wanted, or nothing is wanted or read.
  std::optional<Worked> wider;
  std::optional<Worked> stop_thicker;  ///< the cork or felt of its stop for that; none: its arm is not known
  std::vector<LinkEffect> effects;     ///< of opening it by `wider`
};

/// One link.
struct LinkResult {
  std::size_t index = 0;  ///< in the document
  std::string from;       ///< ids
  std::string to;
  Worked lost;                          ///< motion lost at the contact
  std::optional<Worked> lost_at_pad;    ///< what the driven pad would have moved for it
  std::optional<Worked> lost_at_touch;  ///< how far the finger goes for it; none: no touch arm
  std::optional<Worked> holds_off;      ///< the driven key is held off its stop by so much
  std::optional<Worked> by_shift;       ///< change of the gap when planned work has moved the keys
  std::optional<Length> by_rock;        ///< lost motion falls by 0 to this when planned work has taken rock
};

/// One cork or felt to change.
struct CorkChange {
  std::size_t link = 0;  ///< index in the document
  std::string from;
  std::string to;
  std::string material;          ///< as in the document; may be empty
  Worked thicker;                ///< change of thickness
  std::optional<Length> now;     ///< thickness in the document
  std::optional<Length> wanted;  ///< now and change
  std::string nearest;           ///< sheet nearest to it; empty: none of the material
  Length nearest_left;           ///< wanted less that sheet's thickness
  Length nearest_left_at_pad;    ///< what that leaves at the late pad
  std::string to_sand;           ///< thinnest sheet at least as thick; empty: none
};

/// Something that happens on the way from finger to pads.
struct HappeningResult {
  bool seats = false;  ///< the pad of `to` seats; else the link from `from` to `to` takes up
  std::string from;
  std::string to;
  Worked at;  ///< how far the finger has gone (mm); without a touch arm, how far the key has turned (rad)
};

enum class Closes { together, key_first, partner_first, cannot_tell };
const char* word(Closes c);

/// One pair.
struct PairResult {
  std::size_t index = 0;  ///< in the document
  std::string key;        ///< ids
  std::string partner;
  std::string under;
  std::optional<Error> problem;  ///< it cannot be worked out; nothing below then holds
  Closes closes = Closes::cannot_tell;
  Worked reckoned;                     ///< gap at the late pad by the chain; above 0: the partner is late
  std::optional<Given> read;           ///< signed likewise
  bool contradicts = false;            ///< chain and reading; the reading is then taken
  Worked gap;                          ///< both weighed
  std::optional<Worked> under_finger;  ///< what stands open under the finger, cork and felt giving
  std::optional<Worked> after_work;    ///< the gap when planned fitting work is done
  std::vector<CorkChange> cures;       ///< single changes that bring it together, smallest first
  std::vector<HappeningResult> happenings;  ///< while `under` is pressed, by the chain alone
};

/// All of an instrument.
struct Regulation {
  std::string title;
  LengthUnit units = LengthUnit::mm;
  Length together;  ///< a gap that still counts as closing together
  std::vector<OpeningResult> openings;
  std::vector<LinkResult> links;
  std::vector<PairResult> pairs;
  /// The fewest corks after which all pairs that are surely apart close together and no other is spoiled.
  std::vector<CorkChange> changes;
  double minutes = 0;       ///< for these
  std::string no_changes;   ///< why there are none though a pair is apart; empty: there are, or none is
  record::Errors problems;  ///< rings, arms that nobody gave
};

/// `worked` must be the same documents' result: its planned work and rock are used. Nothing of the
/// documents is kept.
Regulation regulate(const record::Instrument& instrument, const record::Shop& shop,
                    const InstrumentResult& worked);

/// What to say of each, in short sentences.
std::string tell(const OpeningResult& opening, LengthUnit unit);
std::string tell(const LinkResult& link, LengthUnit unit);
std::vector<std::string> tell(const PairResult& pair, const Regulation& all, LengthUnit unit);
std::string tell(const CorkChange& change, LengthUnit unit);

/// Of one key: everything it has to do with. Fault::not_found where the instrument has no such key;
/// Fault::content where no link or pair names it.
Expected<Regulation> only(const Regulation& all, const record::Instrument& instrument,
                          const std::string& key);

std::string to_json(const Regulation& regulation, LengthUnit unit);

}  // namespace hingeline::service
