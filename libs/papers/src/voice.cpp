#include "hingeline/papers/voice.h"

#include <cmath>

namespace hingeline::papers {
namespace {

struct Row {
  std::string_view english;
  std::string_view german;
};
constexpr std::array<Row, kSayCount> kRows = {{
#define SAY(name, english, german) Row{english, german},
#include "hingeline/papers/words.inc"
#undef SAY
}};

/// In the order of drawing::Word.
constexpr drawing::Words kGermanDrawing = {"Jetzt",
                                           "Nach der Arbeit",
                                           "Oberes Gelenk, angedrückt",
                                           "Unteres Gelenk, angedrückt",
                                           "Oberes Gelenk",
                                           "Unteres Gelenk",
                                           "noch nicht gemessen",
                                           "Böckchen",
                                           "Klappenende",
                                           "Schraube, Achse",
                                           "Metall, das fort ist",
                                           "läuft hier auf",
                                           "Maßstab {}",
                                           "an diesem Ende keine Arbeit",
                                           " (und {} weitere)",
                                           "Senkung tiefer um {}",
                                           "Ende kürzer um {}",
                                           "Loch weiter um {}",
                                           "Spalt {}",
                                           "in der Klappe {}",
                                           "steht vor {}",
                                           "Spitze bis Grund {}",
                                           "läuft auf seiner Achse",
                                           "läuft auf der Flanke",
                                           "läuft auf dem Rand",
                                           "läuft auf der Kante der Spitze",
                                           "läuft auf einer Kante im Loch",
                                           "läuft auf einer Kante hinter der Spitze",
                                           "läuft auf der Rundung",
                                           "steht auf dem Grund des Lochs",
                                           "steht auf dem Absatz der Spitze",
                                           "steht am Böckchen an",
                                           "läuft auf: {}",
                                           "Achse {}",
                                           "Bohrung {}",
                                           "Spiel {}",
                                           "über {}",
                                           "{} vom Ende",
                                           "Klappe {}",
                                           "zwischen den Böckchen {}, gezeichnet {}",
                                           "Oberes Ende",
                                           "Unteres Ende",
                                           "Lupe {}",
                                           "Spalt angedrückt {}",
                                           "nimm {}",
                                           "Reserve {}",
                                           "keine Reserve mehr",
                                           "Polsterspalt seitlich {}",
                                           "in der schlimmsten Richtung {}",
                                           "erlaubt {}",
                                           ": zu viel",
                                           ": im Rahmen",
                                           "Polster {} neben dem Tonloch,",
                                           "zum unteren Böckchen hin",
                                           "zum oberen Böckchen hin",
                                           "Spalt gezeichnet {}",
                                           "Tonloch {}",
                                           "Axialspiel",
                                           "jetzt {}",
                                           " (klemmt)",
                                           "nach der Arbeit {}",
                                           "angestrebt {} bis {}",
                                           "Klappe",
                                           "freier Weg",
                                           "Überdeckung: sie klemmt",
                                           "abzunehmendes Metall",
                                           "Reserve",
                                           "gezeichnet {}",
                                           "Axialspiel {}",
                                           "Böckchen {}",
                                           "Kopf {}",
                                           "Senker {}: {}",
                                           "kein Senker der Werkstatt passt",
                                           "Wand um die Senkung {}",
                                           "Platz dahinter {}",
                                           "Platz ringsum {}",
                                           "gedreht mit: {}",
                                           "tiefer um {}",
                                           "Rand {}",
                                           "Polster gibt nach {}",
                                           "Spalt rund um den Rand",
                                           "bleibt offen",
                                           "undicht {}",
                                           "Jahre",
                                           "heute {}",
                                           "wahrscheinlich, und 5- und 95-mal von 100"};

}  // namespace

const char* code(Language language) { return language == Language::german ? "de" : "en"; }

std::string_view text(Say what, Language language) {
  const Row& row = kRows[static_cast<std::size_t>(what)];
  return language == Language::german ? row.german : row.english;
}

const drawing::Words& drawing_words(Language language) {
  return language == Language::german ? kGermanDrawing : drawing::english_words();
}

std::string Voice::with_mark(std::string figure) const {
  if (language_ == Language::english) return figure;
  for (char& c : figure) {
    if (c == '.') c = ',';
  }
  return figure;
}

std::string Voice::length(Length v) const { return with_mark(show_length(v, unit_, bench_decimals(unit_))); }

std::string Voice::size(Length v) const {
  return with_mark(show_length(v, unit_, bench_decimals(unit_) - 1));
}

std::string Voice::fine(Length v) const {
  const double value = unit_ == LengthUnit::mm ? in_millimetres(v) : in_inches(v);
  const int most = bench_decimals(unit_) + 2;
  int decimals = bench_decimals(unit_);
  const auto off = [&] {
    return std::abs(std::round(value * std::pow(10, decimals)) / std::pow(10, decimals) - value);
  };
  while (decimals < most && off() > std::abs(value) / 20) ++decimals;
  return with_mark(show_length(v, unit_, decimals));
}

std::string Voice::bare(Length v) const {
  std::string out = show_length(v, unit_, bench_decimals(unit_));
  out.resize(out.find(' '));
  return with_mark(out);
}

std::string Voice::length(Length v, Length plus_minus) const { return bare(v) + " ± " + length(plus_minus); }

std::string Voice::range(Length low, Length high) const {
  return (*this)(Say::from_to, bare(low), length(high));
}

std::string Voice::number(double v, int decimals) const {
  if (!std::isfinite(v)) return "-";
  std::string out = fmt::format("{:.{}f}", v, decimals);
  if (out.find_first_not_of("-0.") == std::string::npos && out.front() == '-') out.erase(0, 1);
  return with_mark(out);
}

std::string Voice::money(Money amount, const std::string& currency) const {
  const std::string figure = with_mark(show_money(amount));
  return currency.empty() ? figure : figure + " " + currency;
}

std::string Voice::percent(Percent percent) const { return with_mark(show_percent(percent)); }

std::string Voice::day(const std::string& iso) const {
  const bool is_day = iso.size() == 10 && iso[4] == '-' && iso[7] == '-';
  if (language_ == Language::english || !is_day) return iso;
  return iso.substr(8, 2) + "." + iso.substr(5, 2) + "." + iso.substr(0, 4);
}

}  // namespace hingeline::papers
