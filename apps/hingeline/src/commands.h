#pragma once
/// \file
/// The commands that ask documents. Each prints what was asked, and gives the exit code.

#include "asked.h"

namespace hingeline::commands {

int fit(const Asked& asked);
int show(const Asked& asked);
int plan(const Asked& asked);
int why(const Asked& asked);
int regulate(const Asked& asked);
int lead_key(const Asked& asked);
int show_causes(const Asked& asked);
int leak(const Asked& asked);
int budget(const Asked& asked);
int outfit(const Asked& asked);
int show_learned(const Asked& asked);
int action(const Asked& asked);
int stack(const Asked& asked);
int bow(const Asked& asked);
int season(const Asked& asked);
int trial(const Asked& asked);
int rig(const Asked& asked);
int wear(const Asked& asked);
int draw(const Asked& asked);
int paper(const Asked& asked);
int check(const Asked& asked);
int schema(const Asked& asked);

}  // namespace hingeline::commands
