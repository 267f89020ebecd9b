#pragma once
/// \file
/// The inquiry into one key: weighted samples over what may be wrong and how badly, reweighted by what the
/// bench reads and finds; the list of causes, the next check worth its minutes, and the gate before a cut.
///
/// Every sample is a whole key with its causes; what it would show is worked out by the contact and mechanism
/// rooms. The end play that the parts are made for is not sampled blindly: each sample holds it as a normal
/// distribution, takes end-play readings in closed form, and stands at its own place in what is left.
///
/// Same arguments, same bytes: draws come from numeric::Stream, sums run in the order of samples.

#include <array>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "hingeline/base/said.h"
#include "hingeline/belief/cause.h"
#include "hingeline/belief/key.h"

namespace hingeline::belief {

/// What an inquiry starts from.
struct Subject {
  KeyGeometry geometry;  ///< as estimated, taken as it would be without a cause
  Figures standard{};    ///< unused entries 0
  bool upper_headed = true;
  bool lower_headed = true;
  Length window_low = millimetres(0.01);
  Length window_high = millimetres(0.03);
  /// The hinge line off the body's neutral axis, + towards the side a bow reading counts as hollow.
  std::optional<Length> line_offset;
  /// Causes that a document settles beforehand: its hole is said to be straight, its tapers differ, ...
  Causes known;
  Causes excluded;
};

/// One answer: a length for a reading, a word's place in answers() else.
struct Answer {
  Check check = Check::sticks;
  Length value;     ///< readings
  Length standard;  ///< of the reading; 0: the preset's
  std::size_t choice = 0;
  /// Several readings made it, that would all have to have slipped for it to be a slip.
  bool several = false;
};

/// How sure one cause is, and by what.
struct CauseShare {
  Cause cause = Cause::sound;
  double share = 0;        ///< chance that the key has it, among others perhaps
  double upper_share = 0;  ///< of that: at the upper end; meaningless where it has no end
};

/// What one answer said about one cause: how many times likelier it is with the cause than without.
struct Evidence {
  Check check = Check::sticks;
  std::string answer;  ///< the word; empty for a reading
  Length value;
  double factor = 1;
};

/// A check with what it is worth.
struct Worth {
  Check check = Check::sticks;
  double gain = 0;     ///< minutes that knowing the answer is expected to save
  double minutes = 0;  ///< that it takes
  [[nodiscard]] double per_minute() const { return gain / minutes; }
};

/// What stands before a cut.
struct Barrier {
  Cause cause = Cause::dirt;
  std::vector<Check> checks;  ///< undone ones that would clear it; empty: they are done and the cause stands
  double share = 0;
};

class Inquiry {
 public:
  static constexpr std::size_t kSamples = 5000;

  /// Draws the samples. `samples` 500 to 200,000; `threads` (0: as many as the machine has) leave no trace.
  /// Fault::geometry when the key cannot be built.
  static Expected<Inquiry> begin(const Subject& subject, const CausePresets& presets,
                                 std::optional<Complaint> complaint, std::uint64_t seed,
                                 std::size_t samples = kSamples, unsigned threads = 1);
  Inquiry(const Inquiry&);
  Inquiry(Inquiry&&) noexcept;
  Inquiry& operator=(Inquiry&&) noexcept;
  ~Inquiry();

  /// Takes an answer in. Fault::content for a check this hinge does not have, a word that is not one of its
  /// answers, a length beyond 10 mm or not finite, or a negative one where none can be.
  Expected<void> take(const Answer& answer);
  /// A check that could not be done: it is not asked for again.
  void skip(Check check);
  /// A cure that was done; cleaning, which is a check as well, too. Sizes it changes are asked for afresh.
  void treat(Cure cure);

  /// All causes, surest first, `sound` among them; equal shares in the order of Cause.
  [[nodiscard]] std::vector<CauseShare> causes() const;
  [[nodiscard]] double share(Cause cause) const;
  /// What the answers so far say about a cause, strongest first.
  [[nodiscard]] std::vector<Evidence> evidence(Cause cause) const;
  /// The undone check that tells two causes apart best, if one does.
  [[nodiscard]] std::optional<Check> telling_apart(Cause one, Cause another) const;
  /// The cure with the least expected loss now.
  [[nodiscard]] Cure best_cure() const;
  /// Expected loss of a cure, minutes.
  [[nodiscard]] double loss(Cure cure) const;
  /// Undone checks by worth per minute, best first; those worth nothing too.
  [[nodiscard]] std::vector<Worth> worths() const;
  /// The check to do next: the one worth most per minute if it is worth its minutes; none else.
  [[nodiscard]] std::optional<Worth> next_check() const;
  /// What stands before a cut, but for the causes waived: cheapest first.
  [[nodiscard]] std::vector<Barrier> barriers(Causes waived) const;
  [[nodiscard]] bool answered(Check check) const;
  [[nodiscard]] bool applies(Check check) const;
  [[nodiscard]] bool applies(Cause cause) const;

  /// How many samples carry the answer: 1 / sum of squared weights.
  [[nodiscard]] double effective_samples() const;
  /// End play now, over the samples: mean and standard deviation, mm.
  [[nodiscard]] std::pair<double, double> end_play() const;

  /// Sizes the key came with, 0 where it has nothing of it, by the samples with their weights: for those who
  /// check the inquiry itself.
  enum class Size { fit, screw_off, slop, post, bow, runout, oval, drag, climate };
  [[nodiscard]] std::vector<std::pair<double, double>> sizes(Size size) const;

  /// A bent body shows in several keys. What this key's own answers say of the bow: chance of the answers at
  /// each bow of kBows over their chance without a bend, index kBows.size() for no bend being 1.
  static constexpr std::size_t kBowCount = 25;
  static double bow_at(std::size_t k);  ///< mm over the preset chord, -1.2 to 1.2
  using BowMessage = std::array<double, kBowCount + 1>;
  [[nodiscard]] BowMessage say_bow() const;
  /// What the other keys of the instrument say of it, multiplied; replaces what was heard before.
  void hear_bow(const BowMessage& message);

 private:
  struct State;
  explicit Inquiry(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

}  // namespace hingeline::belief
