package builtin_test
import ("testing";"os";"fmt";"github.com/shuntwright/shuntwright/rules")
func TestZZ(t *testing.T){ text,_:=os.ReadFile("doc/parts.toml")
 for _,r:=range all { if r.Since!=2 {continue}
 for w,deck:=range fences(t,r.Page){ d,_,_:=bind(t,deck,string(text)); for _,x:=range rules.Judge(d,all).Results { if x.Rule==r.ID||x.Kind==rules.KindFail {fmt.Println(r.ID,w,x.Rule,x.Kind,x.Level,x.Message,x.Assumed,x.Remedy)}}}}}
