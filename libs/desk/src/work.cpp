#include <fmt/format.h>

#include "hingeline/drawing/svg.h"
#include "hingeline/service/action.h"
#include "hingeline/service/bow.h"
#include "hingeline/service/budget.h"
#include "hingeline/service/leak.h"
#include "hingeline/service/neighbours.h"
#include "hingeline/service/pictures.h"
#include "hingeline/service/regulate.h"
#include "hingeline/service/season.h"
#include "hingeline/service/stack.h"
#include "hingeline/service/wear.h"
#include "inside.h"

namespace hingeline::desk {
namespace {

/// What a question comes to, in the service's own JSON.
class Asked {
 public:
  Asked(const Bench& bench, const Asking& asking, LengthUnit unit, std::string today, unsigned threads)
      : bench_(bench), asking_(asking), unit_(unit), today_(std::move(today)), threads_(threads) {}

  Answer<std::string> operator()(Question question) const {
    switch (question) {
      case Question::fit:
        return service::to_json(bench_.result, unit_, asking_.key);
      case Question::causes:
        return service::to_json(service::causes_of(bench_.result, {kSeed, threads_, nullptr, {}}), unit_,
                                asking_.key);
      case Question::leak:
        return said(service::leak_of(bench_.result, bench_.instrument, bench_.shop), unit_, asking_.key);
      case Question::bow:
        return said(service::bow(bench_.result, bench_.instrument, bench_.shop), unit_, asking_.key);
      case Question::season:
        return said(service::season(bench_.result, bench_.instrument, bench_.shop, asking_.service), unit_,
                    asking_.key);
      case Question::stack:
        return service::to_json(service::work_out_stacks(bench_.instrument, bench_.shop, unit_), unit_);
      case Question::action:
        return said(service::work_action(bench_.instrument, bench_.shop, bench_.result, unit_), asking_.key);
      case Question::regulate:
        return regulated();
      case Question::wear:
        return said(service::wear_of(bench_.instrument, bench_.shop, bench_.result, today_), unit_,
                    asking_.key);
      case Question::budget:
        break;
    }
    return budgeted();
  }

  /// As the command line has it when nothing else is asked for.
  static constexpr std::uint64_t kSeed = 1;

 private:
  template <class T, class... More>
  static Answer<std::string> said(const Expected<T>& result, const More&... more) {
    if (!result) return as_trouble(result.error());
    return service::to_json(*result, more...);
  }
  [[nodiscard]] Answer<std::string> regulated() const {
    auto all = service::regulate(bench_.instrument, bench_.shop, bench_.result);
    if (asking_.key.empty()) return service::to_json(all, unit_);
    return said(service::only(all, bench_.instrument, asking_.key), unit_);
  }
  [[nodiscard]] Answer<std::string> budgeted() const {
    service::BudgetAsked wanted;
    wanted.quick = asking_.quick;
    if (auto read = service::read_limits(asking_.minutes, asking_.money, wanted); !read)
      return as_trouble(read.error());
    return said(service::budget_of(bench_.result, bench_.instrument, bench_.shop, wanted));
  }

  const Bench& bench_;
  const Asking& asking_;
  LengthUnit unit_;
  std::string today_;
  unsigned threads_;
};

Answer<void> known_key(const Bench& bench, const std::string& key) {
  if (key.empty()) return {};
  if (const auto found = service::find_key(bench.result, key); !found) return as_trouble(found.error());
  return {};
}

/// A key that can be worked out.
Answer<const service::KeyResult*> sound_key(const Bench& bench, const std::string& key) {
  const auto found = service::find_key(bench.result, key);
  if (!found) return as_trouble(found.error());
  if ((*found)->problem) return as_trouble(*(*found)->problem);
  return *found;
}

void leave_out_inputs(Json& json) {
  if (json.is_object()) json.erase("inputs");
  for (Json& inside : json) {
    if (inside.is_structured()) leave_out_inputs(inside);
  }
}

}  // namespace

const char* word(Question question) {
  switch (question) {
    case Question::fit:
      return "fit";
    case Question::causes:
      return "causes";
    case Question::leak:
      return "leak";
    case Question::bow:
      return "bow";
    case Question::season:
      return "season";
    case Question::stack:
      return "stack";
    case Question::action:
      return "action";
    case Question::regulate:
      return "regulate";
    case Question::wear:
      return "wear";
    case Question::budget:
      break;
  }
  return "budget";
}

Answer<std::string> Desk::ask(const Who& who, const std::string& visit, Question question,
                              const Asking& asking) {
  if (auto may = must_have(who, Right::look); !may) return tl::unexpected(may.error());
  const auto bench = inside_->bench(visit);
  if (!bench) return tl::unexpected(bench.error());
  const auto unit = unit_of(asking.unit, (*bench)->result.units);
  if (!unit) return tl::unexpected(unit.error());
  if (auto known = known_key(**bench, asking.key); !known) return tl::unexpected(known.error());
  const std::string today = inside_->today();
  const std::string name = fmt::format("{}\n{}\n{}\n{}\n{}\n{}\n{}\n{}\n{}\n", word(question), asking.key,
                                       *unit == LengthUnit::mm, asking.service, asking.minutes, asking.money,
                                       asking.quick, asking.inputs, question == Question::wear ? today : "") +
                           (*bench)->instrument_text + '\0' + (*bench)->shop_text;
  return inside_->answers.get(name, [&]() -> Answer<std::string> {
    auto out = Asked(**bench, asking, *unit, today, inside_->rules.threads)(question);
    if (!out || asking.inputs) return out;
    Json short_of = Json::parse(*out);
    leave_out_inputs(short_of);
    return text_of(short_of);
  });
}

Answer<std::string> Desk::why(const Who& who, const std::string& visit, const std::string& key,
                              const std::string& figure, const std::string& unit) {
  if (auto may = must_have(who, Right::look); !may) return tl::unexpected(may.error());
  const auto bench = inside_->bench(visit);
  if (!bench) return tl::unexpected(bench.error());
  const auto lengths = unit_of(unit, (*bench)->result.units);
  if (!lengths) return tl::unexpected(lengths.error());
  const auto found = sound_key(**bench, key);
  if (!found) return tl::unexpected(found.error());
  const auto wanted = service::find_figure(figure);
  if (!wanted) return as_trouble(wanted.error());
  return service::to_json(**found, service::explain(**found, *wanted, *lengths));
}

Answer<std::string> Desk::drawing(const Who& who, const std::string& visit, const std::string& key,
                                  const std::string& picture, const std::string& unit) {
  if (auto may = must_have(who, Right::look); !may) return tl::unexpected(may.error());
  const auto bench = inside_->bench(visit);
  if (!bench) return tl::unexpected(bench.error());
  const auto lengths = unit_of(unit, (*bench)->result.units);
  if (!lengths) return tl::unexpected(lengths.error());
  const auto found = sound_key(**bench, key);
  if (!found) return tl::unexpected(found.error());
  if (picture == "section")
    return drawing::to_svg(drawing::draw_section(service::section_view(**found, *lengths)));
  if (picture == "strip")
    return drawing::to_svg(drawing::draw_hinge_strip(service::strip_view(**found, *lengths)));
  return refuse(Kind::not_found, fmt::format("there is no picture \"{}\"", picture.substr(0, 40)),
                "section or strip");
}

}  // namespace hingeline::desk
