#pragma once
/// \file
/// One key led from its complaint to its proof: the guide on a document's key, what people type turned into
/// what it is told, and its state as words and JSON.

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "hingeline/guide/guide.h"
#include "hingeline/record/journal.h"
#include "hingeline/service/bench.h"
#include "hingeline/service/learned.h"

namespace hingeline::service {

/// What stands around one key and speaks of a bent body.
struct Around {
  std::optional<belief::Inquiry::BowMessage> keys;  ///< the other keys' end plays
  std::optional<BodyBend> read;                     ///< the straightedge
};

/// The guide of one worked-out key. What the document says already (end play, rock at the pad, heads that
/// stand off, posts out of place, a gauged bore; holes and tapers that are known) is told to it first.
/// `learned`: what the shop's ledger teaches of this person's hand; null: presets. `around`: what the rest
/// of the instrument says of a bent body (neighbours.h).
Expected<guide::Guide> guide_of(const KeyResult& key, std::optional<belief::Complaint> complaint,
                                std::uint64_t seed, unsigned threads, const Learned* learned = nullptr,
                                const std::string& person = {}, const Around& around = {});

/// The name of the shop's cutter for that end's seat; empty: none fits. `key` without a problem.
std::string cutter_at(const KeyResult& key, Side side);

/// The finished key as a job for the ledger; `date` is a day of the calendar, `id` free there.
record::Job job_of(const KeyResult& key, const InstrumentResult& instrument, const guide::Guide& guide,
                   std::optional<belief::Complaint> complaint, const std::string& id, const std::string& date,
                   const std::string& person);

/// What a typed line tells, given what was asked for:
///   a length, with a ± or "with feeler" (an instrument of the shop) behind it, or a word of the answers (or
///   its number, or its beginning), or `CHECK: ANSWER` for any check; `cannot` or `CHECK: cannot`; `waive
///   CAUSE because REASON`; `done`; of a bite also the turns that were made, of a ream also the amount.
/// Fault::syntax or content, with what would be right. The entry is complete: it can be told without knowing
/// what was asked for.
Expected<record::JournalEntry> entry_of(const guide::Guide& guide, std::string_view typed, LengthUnit unit,
                                        const record::Shop& shop);
/// The same as the guide takes it. Fault::content for what no guide can be told; Fault::not_found for a
/// reading taken with an instrument the shop does not have.
Expected<guide::Event> event_of(const record::JournalEntry& entry, const record::Shop& shop);

/// What to do next, in one sentence, and how: sentences for a person.
struct Told {
  std::string what;
  std::string why;
  std::string how;                ///< may be empty
  std::vector<std::string> stop;  ///< rules for when to stop
  std::string reply;              ///< what may be typed
};
Told tell(const guide::Guide& guide, LengthUnit unit);

/// One line of the cause list: "screw not home, upper end".
std::string tell(const belief::CauseShare& share);
/// Evidence in plain words: "gap under the upper head 0.150 mm: 40 times likelier with it".
std::string tell(const belief::Evidence& evidence, LengthUnit unit);
/// A waiver, a bite: "bent body: straight by the eye, owner in a hurry"; "upper seat, 2 turns: 0.038 ± 0.011
/// mm".
std::string tell(const guide::Waiver& waiver);
std::string tell(const plan::BiteTaken& bite, LengthUnit unit);

/// The whole state of a guide. `unit` is for its sentences.
std::string to_json(const KeyResult& key, const guide::Guide& guide, LengthUnit unit);

}  // namespace hingeline::service
