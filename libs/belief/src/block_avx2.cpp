#define HINGELINE_LANES_AVX2
#include "block.h"
// After all others: see lanes.h.
#include "block_lanes.h"

namespace hingeline::belief {

const BlockWork kBlockAvx2{HINGELINE_LANES_NAME::draw,        HINGELINE_LANES_NAME::figures,
                           HINGELINE_LANES_NAME::sift,        HINGELINE_LANES_NAME::centre,
                           HINGELINE_LANES_NAME::combine,     HINGELINE_LANES_NAME::add_powers,
                           HINGELINE_LANES_NAME::add_products};

}  // namespace hingeline::belief
